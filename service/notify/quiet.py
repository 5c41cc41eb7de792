"""Libraries that write addresses, and the secrets in them, into the log are made to keep silent."""

import logging


def silence_libraries() -> None:
    """Keep the HTTP and message libraries' own lines out of the log, whatever level the log has.

    httpx logs the whole address of each request, urllib3 its path, apprise what a service answered.
    What is worth knowing is said, masked, by the channel itself. Calling it again changes nothing.
    """
    for name in ("httpx", "httpcore", "urllib3"):
        logging.getLogger(name).setLevel(logging.CRITICAL)
    apprise = logging.getLogger("apprise")
    apprise.propagate = False
    apprise.setLevel(logging.INFO)
    if not apprise.handlers:
        # Without any handler, logging would write warnings to standard error.
        apprise.addHandler(logging.NullHandler())
