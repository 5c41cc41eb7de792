"""Style sheets and scripts, found in the package wherever it is installed.

They are served under a folder named by the hash of all of them: a browser may keep such a file for ever,
and a new release has new addresses. Modules import each other by relative paths: they stay within a release.
The pages with charts get their style sheets in one file and their modules in one script, put together here,
since on a slow phone each request more is a wait.
"""

import gzip
import hashlib
import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from importlib.resources import files
from importlib.resources.abc import Traversable

from fastapi import APIRouter, Request, Response

from web.scripts import one_script

KINDS: Mapping[str, str] = {
    ".css": "text/css; charset=utf-8",
    ".js": "text/javascript; charset=utf-8",
    ".svg": "image/svg+xml",
    ".txt": "text/plain; charset=utf-8",
}
IMPORT = re.compile(r'^import (?:[^;"]* from )?"\./([\w.-]+)";', re.MULTILINE)
TOGETHER = "together/"
MOST_TOGETHER = 12
MOST_MADE = 64
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
    made: dict[str, StaticFile] = field(default_factory=dict)

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

    def sheets(self, base: str, *paths: str) -> str:
        """The address of style sheets in one file, in this order; KeyError for one that does not exist."""
        return f"{base}/static/{self.version}/{TOGETHER}{'+'.join(_found(self.by_path, p) for p in paths)}"

    def script(self, base: str, path: str) -> str:
        """The address of a module and all that it imports as one classic script."""
        return f"{base}/static/{self.version}/{TOGETHER}{_found(self.by_path, path)}"

    def together(self, names: str) -> StaticFile | None:
        """What the address of `sheets` or `script` leads to; None for files that do not exist."""
        paths = names.split("+")
        if len(paths) > MOST_TOGETHER or any(path not in self.by_path for path in paths):
            return None
        if names not in self.made:
            if len(self.made) >= MOST_MADE:
                self.made.clear()
            if names.endswith(".js"):
                texts = {
                    path: file.body.decode() for path, file in self.by_path.items() if path.endswith(".js")
                }
                self.made[names] = _file(one_script(texts, paths[0]).encode(), KINDS[".js"])
            else:
                whole = b"\n".join(self.by_path[path].body for path in paths)
                self.made[names] = _file(whole, KINDS[".css"])
        return self.made[names]


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
        found[path] = _file(body, kind)
    return StaticFiles(whole.hexdigest()[:12], found)


def _file(body: bytes, kind: str) -> StaticFile:
    etag = hashlib.sha256(body).hexdigest()[:16]
    return StaticFile(body, gzip.compress(body, 9, mtime=0), kind, f'"{etag}"')


def _found(files_: Mapping[str, StaticFile], path: str) -> str:
    files_[path]
    return path


def router(static: StaticFiles) -> APIRouter:
    """Serves the files; a path that is not in the set is 404, so no path can lead outside."""
    routes = APIRouter(include_in_schema=False)

    @routes.get("/static/{version}/{path:path}")
    def serve(request: Request, version: str, path: str) -> Response:
        put = path.startswith(TOGETHER)
        file = static.together(path.removeprefix(TOGETHER)) if put else static.by_path.get(path)
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
