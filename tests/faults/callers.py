"""Callers that hold the service to its word: each quote is asked for until it is answered.

A caller sends a document under an `Idempotency-Key` and sends it again, whatever went wrong, until
it gets a 201; what it got then is kept, to be compared with what the database says at the end.
"""

from __future__ import annotations

import http.client
import json
import threading
import time
from collections import Counter
from dataclasses import dataclass, field
from random import Random

from tests.bench.shops import documents

SECONDS_A_TRY = 15
PAUSE = 0.2


@dataclass(frozen=True, slots=True)
class Kept:
    """What a caller was promised: the key it used, what it sent, the answer, byte for byte."""

    key: str
    sent: bytes
    answer: bytes

    @property
    def number(self) -> str:
        """The number of the quote."""
        return str(json.loads(self.answer)["number"])


@dataclass
class Callers:
    """Many callers of one address, and what all of them were told."""

    port: int
    token: str
    many: int
    kept: list[Kept] = field(default_factory=list)
    seen: Counter[str] = field(default_factory=Counter)
    differing: list[str] = field(default_factory=list)
    _lock: threading.Lock = field(default_factory=threading.Lock)
    _over: threading.Event = field(default_factory=threading.Event)
    _threads: list[threading.Thread] = field(default_factory=list)

    def start(self) -> None:
        """Let them begin."""
        papers = documents(32)
        for number in range(self.many):
            thread = threading.Thread(target=self._call, args=(number, papers), daemon=True)
            self._threads.append(thread)
            thread.start()

    def stop(self, patience: float) -> int:
        """Let each end with an answer; how many could not."""
        self._over.set()
        ends = time.monotonic() + patience
        for thread in self._threads:
            thread.join(max(ends - time.monotonic(), 0.1))
        return sum(thread.is_alive() for thread in self._threads)

    def again(self, kept: Kept) -> bool:
        """Whether what was answered once is answered the same when it is sent again."""
        for _ in range(20):
            status, answer = self._send(kept.sent, kept.key)
            if status == 201:
                return answer == kept.answer
            time.sleep(PAUSE)
        return False

    def _call(self, number: int, papers: list[bytes]) -> None:
        dice, turn = Random(number), 0
        while not self._over.is_set():
            turn += 1
            sent, key = dice.choice(papers), f"caller-{number}-{turn}"
            kept = Kept(key, sent, self._until_answered(sent, key))
            with self._lock:
                self.kept.append(kept)
            if dice.random() < 0.1 and not self.again(kept):
                self.differing.append(key)

    def _until_answered(self, sent: bytes, key: str) -> bytes:
        while True:
            status, answer = self._send(sent, key)
            with self._lock:
                self.seen[str(status)] += 1
            if status == 201:
                return answer
            if status in (400, 401, 403, 404, 422):
                raise RuntimeError(f"{key} was refused: {answer.decode()[:300]}")
            time.sleep(PAUSE)

    def _send(self, sent: bytes, key: str) -> tuple[int | str, bytes]:
        connection = http.client.HTTPConnection("127.0.0.1", self.port, timeout=SECONDS_A_TRY)
        headers = {
            "Authorization": f"Bearer {self.token}",
            "Content-Type": "application/json",
            "Idempotency-Key": key,
            "Connection": "close",
        }
        try:
            connection.request("POST", "/v1/quotes", sent, headers)
            answer = connection.getresponse()
            return answer.status, answer.read()
        except (OSError, http.client.HTTPException) as error:
            return type(error).__name__, b""
        finally:
            connection.close()
