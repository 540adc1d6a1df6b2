"""A reader of the change feed that goes on all the while, as a bookkeeping program would."""

from __future__ import annotations

import http.client
import json
import threading
from collections import Counter
from urllib.parse import quote

PAUSE = 0.3
SECONDS_A_TRY = 15


class FeedReader:
    """Reads from the first event on, and never goes back."""

    def __init__(self, port: int, token: str) -> None:
        self._port, self._token = port, token
        self._cursor = ""
        self._over = threading.Event()
        self._thread = threading.Thread(target=self._run, daemon=True)
        self.seen: Counter[str] = Counter()
        """How often each quote's making was told."""

    def start(self) -> None:
        """Begin to read."""
        self._thread.start()

    def stop(self, patience: float) -> None:
        """Read what there is to the end."""
        self._over.set()
        self._thread.join(patience)

    def _run(self) -> None:
        quiet = 0
        while quiet < 5:
            read = self._page()
            quiet = quiet + 1 if self._over.is_set() and read == 0 else 0
            if not read:
                self._over.wait(PAUSE) if not self._over.is_set() else None

    def _page(self) -> int:
        """Read a page; how many events, or -1 where nothing could be read."""
        path = "/v1/events?limit=500" + (f"&cursor={quote(self._cursor)}" if self._cursor else "")
        connection = http.client.HTTPConnection("127.0.0.1", self._port, timeout=SECONDS_A_TRY)
        headers = {"Authorization": f"Bearer {self._token}", "Connection": "close"}
        try:
            connection.request("GET", path, headers=headers)
            answer = connection.getresponse()
            text = answer.read()
        except (OSError, http.client.HTTPException):
            return -1
        finally:
            connection.close()
        if answer.status != 200:
            return -1
        page = json.loads(text)
        for event in page["items"]:
            if event["kind"] == "quote.created":
                self.seen[event["subject_id"]] += 1
        self._cursor = page["next"] or self._cursor
        return len(page["items"])
