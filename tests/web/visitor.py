"""A visitor who asks an application in this process, one request at a time, and follows no redirect."""

import asyncio
from dataclasses import dataclass, field
from typing import Any

import httpx
from fastapi import FastAPI


@dataclass(slots=True)
class Visitor:
    app: FastAPI
    root_path: str = ""
    headers: dict[str, str] = field(default_factory=dict)

    def get(self, path: str, **options: Any) -> httpx.Response:
        return asyncio.run(self._ask("GET", path, **options))

    def post(self, path: str, **options: Any) -> httpx.Response:
        return asyncio.run(self._ask("POST", path, **options))

    async def _ask(self, method: str, path: str, **options: Any) -> httpx.Response:
        transport = httpx.ASGITransport(app=self.app, root_path=self.root_path)
        async with httpx.AsyncClient(
            transport=transport, base_url="http://127.0.0.1", headers=self.headers, trust_env=False
        ) as client:
            return await client.request(method, path, **options)
