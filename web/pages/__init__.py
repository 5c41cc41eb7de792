"""One router a page, each with the protocol of what it needs from the service."""
