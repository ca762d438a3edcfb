"""A port for a server that a test or a script starts."""

import socket


def free_port() -> int:
    """A port of this machine's own address that nobody listens on."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])
