"""A round-robin TCP proxy of some sixty lines, so that anybody can run the two nodes.

Each connection goes to the next node that takes it; a node that does not answer the connection is
passed over. What was sent once is never sent again: that is for the caller to decide.
"""

from __future__ import annotations

import socket
import threading
from collections.abc import Sequence

CONNECT_SECONDS = 2.0
AT_ONCE = 65_536


class Proxy:
    """Listens on 127.0.0.1 and hands connections on to the nodes, one after the other."""

    def __init__(self, nodes: Sequence[int]) -> None:
        self._nodes = list(nodes)
        self._turn = 0
        self._lock = threading.Lock()
        self._listener = socket.create_server(("127.0.0.1", 0), backlog=256)
        self.port: int = self._listener.getsockname()[1]
        self.handed: dict[int, int] = dict.fromkeys(self._nodes, 0)
        threading.Thread(target=self._accept, daemon=True).start()

    def close(self) -> None:
        """Take no more connections."""
        self._listener.close()

    def _accept(self) -> None:
        while True:
            try:
                caller, _ = self._listener.accept()
            except OSError:
                return
            threading.Thread(target=self._serve, args=(caller,), daemon=True).start()

    def _serve(self, caller: socket.socket) -> None:
        node = self._next()
        if node is None:
            caller.close()
            return
        back = threading.Thread(target=_copy, args=(node, caller), daemon=True)
        back.start()
        _copy(caller, node)
        back.join()
        caller.close()
        node.close()

    def _next(self) -> socket.socket | None:
        """A connection to the next node that takes one; None where none does."""
        for _ in self._nodes:
            with self._lock:
                port = self._nodes[self._turn % len(self._nodes)]
                self._turn += 1
            try:
                node = socket.create_connection(("127.0.0.1", port), CONNECT_SECONDS)
            except OSError:
                continue
            node.settimeout(None)
            with self._lock:
                self.handed[port] += 1
            return node
        return None


def _copy(here: socket.socket, there: socket.socket) -> None:
    """Everything from here to there, until one of them ends."""
    try:
        while part := here.recv(AT_ONCE):
            there.sendall(part)
    except OSError:
        pass
    for end, how in ((there, socket.SHUT_WR), (here, socket.SHUT_RD)):
        try:
            end.shutdown(how)
        except OSError:
            continue
