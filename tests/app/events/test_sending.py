"""Sending to an address that a customer chose: only to the public internet, whatever it says.

Sources: the registries of special addresses (RFC 6890 and what IANA added since), RFC 6052 for
NAT64, RFC 3056 for 6to4; the Standard Webhooks specification for what counts as delivered.
"""

from __future__ import annotations

import shutil
import socket
import ssl
import subprocess
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from ipaddress import ip_address
from pathlib import Path

import pytest

from service.app.events import sending
from service.app.events.delivery import A_TURN, HELD
from service.app.events.sending import send
from service.app.events.targets import Target, is_public, read_target
from service.domain.errors import BadValue

PRIVATE = [
    "0.0.0.0", "10.1.2.3", "100.64.0.1", "127.0.0.1", "127.255.0.1",  # noqa: S104 — nothing listens
    "169.254.169.254", "172.16.0.1", "172.31.255.255", "192.0.0.8", "192.0.2.1", "192.168.1.1",
    "198.18.0.1", "198.51.100.1", "203.0.113.9", "224.0.0.1", "240.0.0.1", "255.255.255.255",
    "::", "::1", "fc00::1", "fd12:3456::1", "fe80::1", "fec0::1", "ff02::1", "2001:db8::1",
    "::ffff:10.0.0.1", "::ffff:127.0.0.1", "::ffff:169.254.169.254", "64:ff9b::a00:1",
    "64:ff9b::7f00:1", "2002:0a00:0001::1", "2002:7f00:1::", "2001:0:4136:e378::1",
]  # fmt: skip
PUBLIC = ["1.1.1.1", "93.184.215.14", "2606:4700:4700::1111", "64:ff9b::101:101", "::ffff:1.1.1.1"]


@pytest.mark.parametrize("address", PRIVATE)
def test_what_is_not_of_the_public_internet(address: str) -> None:
    assert not is_public(ip_address(address))
    host = f"[{address}]" if ":" in address else address
    with pytest.raises(BadValue):
        read_target(f"https://{host}/hook", loopback=False)


@pytest.mark.parametrize("address", PUBLIC)
def test_what_is(address: str) -> None:
    assert is_public(ip_address(address))


@pytest.mark.parametrize(
    "url",
    [
        "http://books.example/hook",
        "ftp://books.example/hook",
        "https://",
        "https:///hook",
        "books.example/hook",
        "https://user@books.example/",
        "https://user:pw@books.example/",
        "https://books.example/#part",
        "https://books.example:99999/",
        "https://books.example/a b",
        "https://books.example\\@10.0.0.1/",
        "https://books.example/\r\nX-Evil: 1",
        "https://[::1/",
        "https://books.example/" + "a" * 500,
        "http://127.0.0.1/hook",
        "javascript:alert(1)",
        # names that the public DNS never has: RFC 6761, 6762, 7686, 8375, 9476
        "https://localhost/",
        "https://LOCALHOST./hook",
        "https://till.localhost/",
        "https://intranet/",
        "https://nas.local/",
        "https://nas.home.arpa/",
        "https://books.internal/",
        "https://books.invalid/",
        "https://books.test/",
        "https://books.onion/",
        # what is no name: RFC 1123, 2.1
        "https://books..example/",
        "https://-books.example/",
        "https://books_.example/",
        "https://" + "a" * 64 + ".example/",
        "https://" + "a." * 126 + "example/",
        # numbers that some programs take for an address: WHATWG URL, "ends in a number"
        "https://2130706433/",
        "https://0x7f.1/",
        "https://0177.0.0.1/",
        "https://127.1/",
        "https://127.0.0.1./",
        "https://books.example.1/",
        "https://0/",
        # ports of other services: WHATWG Fetch, "bad port"
        "https://books.example:0/",
        "https://books.example:22/",
        "https://books.example:25/",
        "https://books.example:993/",
        "https://books.example:6667/",
    ],
)
def test_what_is_no_address_to_send_to(url: str) -> None:
    with pytest.raises(BadValue) as refused:
        read_target(url, loopback=False)
    assert refused.value.where == "/url"


def test_what_is_read_of_an_address() -> None:
    read = read_target("https://Books.Example:8443/hooks?shop=1", loopback=False)
    assert read == Target(True, "books.example", 8443, "/hooks?shop=1")
    assert read.named == "books.example:8443"
    assert read_target("https://books.example", loopback=False).path == "/"
    assert (
        read_target("https://b\u00fccher.example/", loopback=False).host == "xn--bcher-kva.example"
    )


def test_tests_may_send_to_this_machine_and_to_no_other_in_clear() -> None:
    assert read_target("http://127.0.0.1:9/x", loopback=True) == Target(False, "127.0.0.1", 9, "/x")
    for url in ("http://127.0.0.2/", "http://localhost/", "http://10.0.0.1/", "https://127.0.0.1/"):
        with pytest.raises(BadValue):
            read_target(url, loopback=True)


def _resolves(monkeypatch: pytest.MonkeyPatch, *answers: list[str]) -> list[str]:
    """The name resolves to these addresses, one answer after the other; the last one stays."""
    asked: list[str] = []
    answered = {address for found in answers for address in found}
    plain = socket.getaddrinfo

    def resolve(host: str, port: int, *more: int, **named: int) -> list[object]:
        if host in answered:  # connecting to an address asks here too
            return list(plain(host, port, *more, **named))
        found = answers[min(len(asked), len(answers) - 1)]
        asked.append(host)
        return [entry for address in found for entry in plain(address, port, *more, **named)]

    monkeypatch.setattr(sending.socket, "getaddrinfo", resolve)
    return asked


NOT_PUBLIC = "the host has an address that is not one of the public internet"
TARGET = Target(True, "books.example", 443, "/hook")


@pytest.mark.parametrize("found", [["10.0.0.1"], ["1.1.1.1", "127.0.0.1"], ["::1"], []])
def test_a_name_with_any_private_address_is_not_sent_to(
    monkeypatch: pytest.MonkeyPatch, found: list[str]
) -> None:
    _resolves(monkeypatch, found)
    monkeypatch.setattr(socket.socket, "connect", _never)
    outcome = send(TARGET, {}, b"{}")
    assert outcome.status is None
    assert "public internet" in outcome.error
    assert not outcome.delivered


def _never(*_: object, **__: object) -> None:
    raise AssertionError("nothing may be connected to")


def test_a_name_is_resolved_once_and_the_address_that_was_checked_is_used(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    asked = _resolves(monkeypatch, ["1.1.1.1"], ["127.0.0.1"])
    connected: list[object] = []

    def connect(_: socket.socket, address: tuple[str, int]) -> None:
        connected.append(address)
        raise ConnectionRefusedError(111, "refused")

    monkeypatch.setattr(socket.socket, "connect", connect)
    outcome = send(TARGET, {}, b"{}")
    assert outcome.error == "the connection failed: refused"
    assert asked == ["books.example"]
    assert connected == [("1.1.1.1", 443)]


@pytest.mark.parametrize(
    "host", ["2130706433", "0x7f.1", "0177.0.0.1", "127.1", "localhost", "127.0.0.1.", "0"]
)
def test_an_address_in_disguise_is_looked_at_when_it_is_resolved(
    monkeypatch: pytest.MonkeyPatch, host: str
) -> None:
    # The C library reads 127.0.0.1 in each of these; one that was stored is not sent to either.
    _resolves(monkeypatch, ["127.0.0.1"])
    monkeypatch.setattr(socket.socket, "connect", _never)
    assert send(Target(True, host, 443, "/"), {}, b"{}").error == NOT_PUBLIC


@pytest.mark.parametrize("host", ["①②⑦.0.0.1", "127。0。0。1", "１２７.0.0.1", "[::ﬀﬀ:7f00:1]"])
def test_digits_of_another_script_are_read_before_the_address_is_looked_at(host: str) -> None:
    with pytest.raises(BadValue):
        read_target(f"https://{host}/", loopback=False)


def test_resolving_that_takes_all_the_time_is_an_outcome(monkeypatch: pytest.MonkeyPatch) -> None:
    _resolves(monkeypatch, ["1.1.1.1"])
    monkeypatch.setattr(socket.socket, "connect", _never)
    times = iter([0.0, 21.0, 21.0])
    monkeypatch.setattr(sending, "monotonic", lambda: next(times))
    assert send(TARGET, {}, b"{}").error == "no answer within 20 seconds"


def test_a_name_that_is_not_known_is_an_outcome(monkeypatch: pytest.MonkeyPatch) -> None:
    def resolve(*_: object, **__: object) -> None:
        raise socket.gaierror(-2, "not known")

    monkeypatch.setattr(sending.socket, "getaddrinfo", resolve)
    assert send(TARGET, {}, b"{}").error == "the host's name cannot be resolved"


@contextmanager
def _answers(serve: Callable[[socket.socket], None]) -> Iterator[tuple[int, list[bytes]]]:
    """A server of one connection; gives its port and what it was sent."""
    got: list[bytes] = []
    with socket.create_server(("127.0.0.1", 0)) as server:
        server.settimeout(20)

        def run() -> None:
            connection, _ = server.accept()
            with connection:
                connection.settimeout(20)
                while b"\r\n\r\n" not in b"".join(got):
                    got.append(connection.recv(65_536))
                    if not got[-1]:
                        break
                serve(connection)

        thread = threading.Thread(target=run)
        thread.start()
        yield server.getsockname()[1], got
        thread.join(20)


def _says(text: str) -> Callable[[socket.socket], None]:
    return lambda connection: connection.sendall(text.encode())


@pytest.mark.parametrize(
    ("answer", "status", "delivered"),
    [
        ("HTTP/1.1 200 OK\r\nContent-Length: 0\r\n\r\n", 200, True),
        ("HTTP/1.1 204 No Content\r\n\r\n", 204, True),
        ("HTTP/1.1 299 Fine\r\n\r\n", 299, True),
        ("HTTP/1.1 302 Found\r\nLocation: http://10.0.0.1/\r\n\r\n", 302, False),
        ("HTTP/1.1 410 Gone\r\n\r\n", 410, False),
        ("HTTP/1.1 500 Oh\r\n\r\n", 500, False),
    ],
)
def test_what_counts_as_delivered(answer: str, status: int, delivered: bool) -> None:
    with _answers(_says(answer)) as (port, got):
        target = read_target(f"http://127.0.0.1:{port}/hook?a=1", loopback=True)
        outcome = send(target, {"webhook-id": "m"}, b'{"a":1}')
    assert (outcome.status, outcome.delivered, outcome.error) == (status, delivered, "")
    sent = b"".join(got)
    assert sent.startswith(b"POST /hook?a=1 HTTP/1.1\r\n")
    assert f"Host: 127.0.0.1:{port}\r\n".encode() in sent
    assert b"webhook-id: m\r\n" in sent


def test_retry_after_is_told() -> None:
    with _answers(_says("HTTP/1.1 503 Busy\r\nRetry-After: 90\r\n\r\n")) as (port, _):
        target = Target(False, "127.0.0.1", port, "/")
        assert send(target, {}, b"{}").retry_after == 90


@pytest.mark.parametrize("said", ["9" * 5_000, "-1", "1e9", "٣", "Fri, 27 Nov 2026 00:00:00 GMT"])
def test_a_retry_after_that_is_no_number_of_seconds_is_passed_over(said: str) -> None:
    head = f"HTTP/1.1 503 Busy\r\nRetry-After: {said}\r\n\r\n"
    with _answers(_says(head)) as (port, _):
        outcome = send(Target(False, "127.0.0.1", port, "/"), {}, b"{}")
    assert (outcome.status, outcome.retry_after) == (503, 0)


@pytest.mark.parametrize("answer", ["", "nonsense\r\n\r\n", "HTTP/1.1 abc\r\n\r\n"])
def test_what_is_no_answer_is_an_outcome(answer: str) -> None:
    with _answers(_says(answer)) as (port, _):
        outcome = send(Target(False, "127.0.0.1", port, "/"), {}, b"{}")
    assert outcome.status is None
    assert outcome.error


@pytest.mark.parametrize("head", [b"", b"HTTP/1.1 200 OK\r\n"])
def test_an_answer_that_drips_ends_in_time(monkeypatch: pytest.MonkeyPatch, head: bytes) -> None:
    # It drips until the sender hangs up. How long that takes is the machine's affair: left alone,
    # it would drip for ten minutes, and each byte comes within the time of a read.
    monkeypatch.setattr(sending, "SECONDS", 0.5)
    hung_up = threading.Event()

    def drip(connection: socket.socket) -> None:
        try:
            connection.sendall(head)
            for _ in range(12_000):
                connection.sendall(b"H")
                time.sleep(0.05)
        except OSError:
            hung_up.set()

    with _answers(drip) as (port, _):
        outcome = send(Target(False, "127.0.0.1", port, "/"), {}, b"{}")
        assert outcome.error == "no answer within 0 seconds"
        assert outcome.status is None
    assert hung_up.is_set()


def test_the_time_is_that_of_all_together(monkeypatch: pytest.MonkeyPatch) -> None:
    # Shut between connecting and reading: the watch is there before there is a connection.
    watch = sending._Watch(0)
    watch._timer.join()
    one, other = socket.socketpair()
    with one, other:
        watch.over(one)
        assert other.recv(1) == b""


@pytest.mark.parametrize("status", ["200 OK", "302 Found"])
def test_a_body_is_not_read(status: str) -> None:
    # Of a gigabyte no more is taken than the buffers of the two sockets hold.
    taken = []

    def pour(connection: socket.socket) -> None:
        head = f"HTTP/1.1 {status}\r\nLocation: https://10.0.0.1/\r\nContent-Length: 1073741824"
        try:
            connection.sendall(head.encode() + b"\r\n\r\n")
            for _ in range(16_384):
                taken.append(connection.send(b"x" * 65_536))
        except OSError:
            return

    with _answers(pour) as (port, _):
        outcome = send(Target(False, "127.0.0.1", port, "/"), {}, b"{}")
    assert outcome.status == int(status[:3])
    assert sum(taken) < 64 * 1_048_576


def test_a_head_without_end_is_no_answer() -> None:
    head = "HTTP/1.1 200 OK\r\n" + "X-Long: " + "x" * 70_000 + "\r\n\r\n"
    with _answers(_says(head)) as (port, _):
        outcome = send(Target(False, "127.0.0.1", port, "/"), {}, b"{}")
    assert (outcome.status, outcome.error) == (None, "no HTTP answer: LineTooLong")


def test_what_the_environment_says_is_passed_over(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    (tmp_path / "netrc").write_text("machine 127.0.0.1 login shop password secret\n")
    monkeypatch.setenv("NETRC", str(tmp_path / "netrc"))
    for name in ("HTTP_PROXY", "http_proxy", "ALL_PROXY"):
        monkeypatch.setenv(name, "http://127.0.0.1:9/")
    with _answers(_says("HTTP/1.1 204 No Content\r\n\r\n")) as (port, got):
        assert send(Target(False, "127.0.0.1", port, "/"), {}, b"{}").delivered
    assert b"authorization" not in b"".join(got).lower()


@pytest.fixture
def certificate(tmp_path: Path) -> Path:
    """A certificate for books.example, which nobody signed but itself."""
    openssl = shutil.which("openssl")
    if openssl is None:
        pytest.skip("there is no openssl here to make a certificate with")
    path = tmp_path / "books.pem"
    subprocess.run(
        [openssl, "req", "-x509", "-newkey", "rsa:2048", "-nodes", "-days", "1",
         "-subj", "/CN=books.example", "-addext", "subjectAltName=DNS:books.example",
         "-keyout", str(path), "-out", str(tmp_path / "certificate.pem")],
        check=True, capture_output=True,
    )  # fmt: skip
    path.write_bytes(path.read_bytes() + (tmp_path / "certificate.pem").read_bytes())
    return path


@pytest.mark.parametrize(("name", "trusted"), [("books.example", True), ("other.example", False)])
def test_tls_proves_the_name_and_not_the_address(
    certificate: Path, monkeypatch: pytest.MonkeyPatch, name: str, trusted: bool
) -> None:
    monkeypatch.setenv("SSL_CERT_FILE", str(certificate))
    monkeypatch.setattr(sending, "is_public", lambda _: True)
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    context.load_cert_chain(certificate)
    with socket.create_server(("127.0.0.1", 0)) as server:
        port = server.getsockname()[1]

        def run() -> None:
            try:
                with context.wrap_socket(server.accept()[0], server_side=True) as connection:
                    got = b""
                    while not got.endswith(b"{}"):  # what is closed on unread data is lost
                        got += connection.recv(65_536)
                    connection.sendall(b"HTTP/1.1 204 No Content\r\n\r\n")
            except (ssl.SSLError, OSError):
                return

        thread = threading.Thread(target=run)
        thread.start()
        _resolves(monkeypatch, ["127.0.0.1"])
        outcome = send(Target(True, name, port, "/"), {}, b"{}")
        thread.join(20)
    assert outcome.delivered is trusted
    assert ("TLS failed" in outcome.error) is not trusted


def test_a_worker_holds_its_messages_for_longer_than_all_of_them_can_take() -> None:
    assert HELD.total_seconds() > A_TURN * sending.SECONDS
