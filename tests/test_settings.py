"""Settings: read once, every fault named, no secret shown."""

from __future__ import annotations

from dataclasses import fields
from pathlib import Path

import pytest

from service.settings import KEYS, BadSettings, Settings

EXAMPLE = Path(__file__).resolve().parents[1] / ".env.example"


def _faults(environ: dict[str, str]) -> tuple[str, ...]:
    with pytest.raises(BadSettings) as refusal:
        Settings.read(environ)
    return refusal.value.faults


def test_an_empty_environment_gives_the_defaults() -> None:
    settings = Settings.read({"HOME": "/root", "PATH": "/bin"})
    assert settings.database_url == "sqlite:///framing-quotes.sqlite3"
    assert (settings.host, settings.port) == ("127.0.0.1", 8000)
    assert settings.body_limit == 1_048_576
    assert settings.key_ttl_seconds == 1.0


def test_the_table_and_the_dataclass_name_the_same_settings() -> None:
    assert [key.field for key in KEYS] == [field.name for field in fields(Settings)]


def test_the_example_file_is_the_table() -> None:
    lines = EXAMPLE.read_text(encoding="utf-8").splitlines()
    shown = dict(line.split("=", 1) for line in lines if line and not line.startswith("#"))
    assert shown == {key.name: key.default for key in KEYS}
    assert Settings.read(shown) == Settings.read({})
    text = "\n".join(lines).lower()
    assert all(key.meaning.lower() in text for key in KEYS)


def test_every_key_is_read() -> None:
    settings = Settings.read(
        {
            "DATABASE_URL": "postgresql://u:p@db/x",
            "PORT": "9000",
            "FRAMING_QUOTES_HOST": "::1",
            "FRAMING_QUOTES_WORKERS": "3",
            "FRAMING_QUOTES_THREADS": "5",
            "FRAMING_QUOTES_LOG_LEVEL": "WARNING",
            "FRAMING_QUOTES_LOG_FORMAT": "plain",
            "FRAMING_QUOTES_KEY_TTL_SECONDS": "0.25",
            "FRAMING_QUOTES_BODY_LIMIT": "2048",
            "FRAMING_QUOTES_BULK_LIMIT": "4096",
            "FRAMING_QUOTES_REQUEST_SECONDS": "7",
            "FRAMING_QUOTES_STATEMENT_SECONDS": "6",
            "FRAMING_QUOTES_GRACEFUL_SECONDS": "8",
            "FRAMING_QUOTES_DRAIN_SECONDS": "11",
            "FRAMING_QUOTES_IDEMPOTENCY_HOURS": "9",
            "FRAMING_QUOTES_RATE_PER_MINUTE": "0",
            "FRAMING_QUOTES_READ_SECONDS": "12",
            "FRAMING_QUOTES_KEEP_UNSOLD_DAYS": "400",
            "FRAMING_QUOTES_KEEP_EVENTS_DAYS": "800",
            "FRAMING_QUOTES_KEEP_CUSTOMERS_DAYS": "900",
            "FRAMING_QUOTES_ARCHIVE": "/var/lib/framing-quotes/archive",
            "FRAMING_QUOTES_DRAFTS_PER_DAY": "10",
            "FRAMING_QUOTES_DRAFT_BYTES_PER_DAY": "20000",
            "FRAMING_QUOTES_RATE_STORE": "database",
            "FRAMING_QUOTES_GZIP_FROM": "1000",
            "FRAMING_QUOTES_PLANS": "apart",
            "FRAMING_QUOTES_FONTS": "/opt/fonts",
            "FRAMING_QUOTES_WEBHOOK_SECRET": "0123456789abcdef0123456789abcdef",
            "FRAMING_QUOTES_WEBHOOK_LOOPBACK": "yes",
            "FRAMING_QUOTES_TLS_PROXY": "yes",
            "FRAMING_QUOTES_FORM_KEY": "fq_0123456789abcdef_secret",
        }
    )
    assert settings == Settings(
        database_url="postgresql://u:p@db/x",
        host="::1",
        port=9000,
        tls_proxy="yes",
        workers=3,
        threads=5,
        log_level="warning",
        log_format="plain",
        key_ttl_seconds=0.25,
        body_limit=2048,
        read_seconds=12,
        bulk_limit=4096,
        request_seconds=7,
        statement_seconds=6,
        graceful_seconds=8,
        drain_seconds=11,
        idempotency_hours=9,
        rate_per_minute=0,
        keep_unsold_days=400,
        keep_events_days=800,
        keep_customers_days=900,
        archive="/var/lib/framing-quotes/archive",
        drafts_per_day=10,
        draft_bytes_per_day=20_000,
        rate_store="database",
        gzip_from=1000,
        plans="apart",
        fonts="/opt/fonts",
        webhook_secret="0123456789abcdef0123456789abcdef",  # noqa: S106 — no real one
        webhook_loopback="yes",
        form_key="fq_0123456789abcdef_secret",
    )


def test_all_faults_are_named_at_once() -> None:
    faults = _faults(
        {
            "DATABASE_URL": "mysql://u:hunter2@db/x",
            "PORT": "eighty",
            "FRAMING_QUOTES_LOG_LEVEL": "loud",
            "FRAMING_QUOTES_PROT": "80",
            "FRAMING_QUOTES_HOST": "http://here/",
        }
    )
    assert [fault.split()[0] for fault in faults] == [
        "DATABASE_URL",
        "FRAMING_QUOTES_HOST",
        "PORT",
        "FRAMING_QUOTES_LOG_LEVEL",
        "FRAMING_QUOTES_PROT",
    ]
    assert "hunter2" not in " ".join(faults)


@pytest.mark.parametrize("port", ["0", "65536", "-1", "8000.0", "8_000", "٨٠", "1" * 400, "1e3"])
def test_a_port_is_a_whole_number_in_its_range(port: str) -> None:
    assert _faults({"PORT": port}) == ("PORT must be a whole number from 1 to 65535",)


@pytest.mark.parametrize("seconds", ["-1", "61", "nan", "inf", "1e1", ".5", "1_0", "٣"])
def test_seconds_are_plain_decimals_in_their_range(seconds: str) -> None:
    assert len(_faults({"FRAMING_QUOTES_KEY_TTL_SECONDS": seconds})) == 1


@pytest.mark.parametrize("folder", ["archive", "./archive", "~/archive", "/a\nb", "/a\0b"])
def test_the_archive_is_a_folder_by_its_whole_path(folder: str) -> None:
    (fault,) = _faults({"FRAMING_QUOTES_ARCHIVE": folder})
    assert fault.startswith("FRAMING_QUOTES_ARCHIVE must be the whole path of a folder")


def test_a_secret_may_come_by_file(tmp_path: Path) -> None:
    file = tmp_path / "secret"
    file.write_text("postgresql://u:hunter2@db/x\n", encoding="utf-8")
    settings = Settings.read({"DATABASE_URL_FILE": str(file)})
    assert settings.database_url == "postgresql://u:hunter2@db/x"


def test_a_secret_does_not_come_twice_nor_from_nowhere(tmp_path: Path) -> None:
    missing = str(tmp_path / "missing")
    (one,) = _faults({"DATABASE_URL_FILE": missing, "DATABASE_URL": "sqlite:///x"})
    assert one == "DATABASE_URL and DATABASE_URL_FILE are both given; keep one"
    (other,) = _faults({"DATABASE_URL_FILE": missing})
    assert other.startswith("DATABASE_URL cannot be read from")
    (third,) = _faults({"FRAMING_QUOTES_HOST_FILE": missing})
    assert third.startswith("FRAMING_QUOTES_HOST_FILE is not a setting")


def test_no_secret_is_shown() -> None:
    assert "hunter2" not in repr(Settings.read({"DATABASE_URL": "postgresql://u:hunter2@db/x"}))


def test_the_tests_own_key_is_no_fault() -> None:
    assert Settings.read({"FRAMING_QUOTES_SKIP_POSTGRES": "1"}) == Settings.read({})
