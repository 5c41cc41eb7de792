"""httpx without its command line, which would bring a terminal library of 4 MB along for nothing.

httpx goes on without it where it is not installed; here it is told so.
"""

import sys

_COMMAND_LINE = "httpx._main"

sys.modules.setdefault(_COMMAND_LINE, None)  # type: ignore[arg-type]

import httpx  # noqa: E402

if sys.modules.get(_COMMAND_LINE) is None:
    del sys.modules[_COMMAND_LINE]

__all__ = ["httpx"]
