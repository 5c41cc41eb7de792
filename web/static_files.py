"""Style sheets and scripts, found in the package wherever it is installed.

They are served under a folder named by the hash of all of them: a browser may keep such a file for ever,
and a new release has new addresses. Modules import each other by relative paths: they stay within a release.
"""

import gzip
import hashlib
import re
from collections.abc import Mapping
from dataclasses import dataclass
from importlib.resources import files
from importlib.resources.abc import Traversable

from fastapi import APIRouter, Request, Response

KINDS: Mapping[str, str] = {
    ".css": "text/css; charset=utf-8",
    ".js": "text/javascript; charset=utf-8",
    ".svg": "image/svg+xml",
    ".txt": "text/plain; charset=utf-8",
}
IMPORT = re.compile(r'^import (?:[^;"]* from )?"\./([\w.-]+)";', re.MULTILINE)
FOR_EVER = "public, max-age=31536000, immutable"
ASK_AGAIN = "no-cache"


@dataclass(frozen=True, slots=True)
class StaticFile:
    """One file as it is sent: plain, and squeezed for browsers that take gzip."""

    body: bytes
    squeezed: bytes
    kind: str
    etag: str


@dataclass(frozen=True, slots=True)
class StaticFiles:
    """All files by their path below ``static/``, and the hash that names this set of them."""

    version: str
    by_path: Mapping[str, StaticFile]

    def url(self, base: str, path: str) -> str:
        """The address of a file that is known to exist; KeyError otherwise."""
        self.by_path[path]
        return f"{base}/static/{self.version}/{path}"

    def modules(self, base: str, path: str) -> list[str]:
        """The addresses of all that a module imports, directly or not, so that they are fetched at once."""
        seen: list[str] = []
        waiting = [path]
        while waiting:
            text = self.by_path[waiting.pop()].body.decode()
            found = [f"js/{name}" for name in IMPORT.findall(text)]
            waiting += [one for one in found if one not in seen]
            seen += [one for one in found if one not in seen]
        return [self.url(base, one) for one in sorted(set(seen))]


def load(root: Traversable | None = None) -> StaticFiles:
    """Reads the package's static files (or those below `root`) once."""
    found: dict[str, StaticFile] = {}
    whole = hashlib.sha256()
    for path, body in sorted(_walk(root if root is not None else files("web") / "static", "")):
        kind = KINDS.get(path[path.rfind(".") :])
        if kind is None:
            continue
        whole.update(f"{path}\0{len(body)}\0".encode())
        whole.update(body)
        etag = hashlib.sha256(body).hexdigest()[:16]
        found[path] = StaticFile(body, gzip.compress(body, 9, mtime=0), kind, f'"{etag}"')
    return StaticFiles(whole.hexdigest()[:12], found)


def router(static: StaticFiles) -> APIRouter:
    """Serves the files; a path that is not in the set is 404, so no path can lead outside."""
    routes = APIRouter(include_in_schema=False)

    @routes.get("/static/{version}/{path:path}")
    def serve(request: Request, version: str, path: str) -> Response:
        file = static.by_path.get(path)
        if file is None:
            return Response("There is no such file.", 404, media_type="text/plain")
        headers = {
            "Cache-Control": FOR_EVER if version == static.version else ASK_AGAIN,
            "ETag": file.etag,
            "Vary": "Accept-Encoding",
        }
        if request.headers.get("if-none-match") == file.etag:
            return Response(status_code=304, headers=headers)
        body = file.body
        if "gzip" in request.headers.get("accept-encoding", ""):
            headers["Content-Encoding"] = "gzip"
            body = file.squeezed
        return Response(body, headers={**headers, "Content-Type": file.kind})

    return routes


def _walk(folder: Traversable, prefix: str) -> list[tuple[str, bytes]]:
    found: list[tuple[str, bytes]] = []
    for entry in folder.iterdir():
        if entry.is_dir():
            found += _walk(entry, f"{prefix}{entry.name}/")
        else:
            found.append((f"{prefix}{entry.name}", entry.read_bytes()))
    return found
