"""The proxy of the two nodes: in turn, past a node that is down, all of what is sent."""

from __future__ import annotations

import socket
import threading
from collections.abc import Iterator
from contextlib import closing, contextmanager, suppress

from tests.bench.servers import free_port
from tests.faults.proxy import Proxy


@contextmanager
def _echo(word: bytes) -> Iterator[int]:
    """A node that answers with its word and all that it was sent."""
    with socket.create_server(("127.0.0.1", 0)) as server:

        def run() -> None:
            while True:
                try:
                    caller, _ = server.accept()
                except OSError:
                    return
                with caller:
                    got = b""
                    while part := caller.recv(65_536):
                        got += part
                    caller.sendall(word + got)

        threading.Thread(target=run, daemon=True).start()
        yield server.getsockname()[1]
        server.shutdown(socket.SHUT_RDWR)


def _ask(port: int, sent: bytes) -> bytes:
    with socket.create_connection(("127.0.0.1", port), timeout=60) as connection:
        connection.sendall(sent)
        connection.shutdown(socket.SHUT_WR)
        got = b""
        while part := connection.recv(65_536):
            got += part
    return got


def test_nodes_take_turns_and_one_that_is_down_is_passed_over() -> None:
    with _echo(b"one ") as one, _echo(b"two ") as two:
        down = free_port()
        with closing(Proxy([one, down, two])) as proxy:
            got = [_ask(proxy.port, b"hello") for _ in range(6)]
    assert got.count(b"one hello") == got.count(b"two hello") == 3
    assert proxy.handed == {one: 3, two: 3, down: 0}


def test_what_is_long_comes_through_whole() -> None:
    sent = bytes(range(256)) * 8_000
    with _echo(b"") as one, closing(Proxy([one])) as proxy:
        assert _ask(proxy.port, sent) == sent


def test_where_no_node_is_there_the_connection_just_ends() -> None:
    with closing(Proxy([free_port()])) as proxy, suppress(ConnectionError):
        assert _ask(proxy.port, b"hello") == b""
