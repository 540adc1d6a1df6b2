"""Column types that hold the domain's values exactly, and alike in SQLite and PostgreSQL.

SQLite turns SQL numerics into binary floats, so no column is numeric: lengths are whole ticks,
money is whole minor units, other exact numbers are text.
"""

from __future__ import annotations

import zlib
from datetime import UTC, datetime
from fractions import Fraction
from typing import Any

from sqlalchemy import BigInteger, Dialect, String, Text
from sqlalchemy.dialects.postgresql import TIMESTAMP
from sqlalchemy.types import TypeDecorator, TypeEngine

from service.domain.measure.length import Length
from service.persistence.sql.codec import EXACT, Codec, read_json, write_json

INSTANT_WIDTH = len("2026-11-25T18:59:38.000000Z")
"""The fixed width of every instant as text, so that text sorts by time."""

PACKED_FROM, PACKED_LEVEL = 1_024, 1
"""The bytes from which documents are compressed, and zlib's fastest level.

A quote's 13 kB shrink to a quarter in 50 µs; the default level would take a millisecond to save a
fifth more.
"""


class Ticks(TypeDecorator[Length]):
    """A length as a whole number of ticks of 1/16 µm."""

    impl = BigInteger
    cache_ok = True

    def process_bind_param(self, value: Length | None, dialect: Dialect) -> int | None:
        """Return the ticks."""
        return None if value is None else value.ticks

    def process_result_value(self, value: int | None, dialect: Dialect) -> Length | None:
        """Return the length."""
        return None if value is None else Length(value)


class Exact(TypeDecorator[Fraction]):
    """An exact number as decimal text, or as a fraction if it has no finite decimal: 0.125, 1/3."""

    impl = Text
    cache_ok = True

    def process_bind_param(self, value: Fraction | None, dialect: Dialect) -> str | None:
        """Return the text."""
        return None if value is None else str(EXACT.encode(value))

    def process_result_value(self, value: str | None, dialect: Dialect) -> Fraction | None:
        """Return the number."""
        return None if value is None else EXACT.decode(value)


class Instant(TypeDecorator[datetime]):
    """A point in time, to the microsecond, in UTC.

    PostgreSQL stores it as timestamptz, SQLite as text of fixed width, so that both sort by time. A
    datetime without a zone is refused: it is ambiguous.
    """

    impl = String(INSTANT_WIDTH)
    cache_ok = True

    def load_dialect_impl(self, dialect: Dialect) -> TypeEngine[datetime] | TypeEngine[str]:
        """Return timestamptz if the database has it."""
        if dialect.name == "postgresql":
            return dialect.type_descriptor(TIMESTAMP(timezone=True))
        return dialect.type_descriptor(String(INSTANT_WIDTH))

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> datetime | str | None:
        """Return the instant in UTC.

        Raises:
            ValueError: a datetime without a zone.
        """
        if value is None:
            return None
        if value.tzinfo is None:
            raise ValueError("a datetime without a zone is no instant; give it one")
        in_utc = value.astimezone(UTC)
        if dialect.name == "postgresql":
            return in_utc
        return in_utc.replace(tzinfo=None).isoformat(timespec="microseconds") + "Z"

    def process_result_value(
        self, value: datetime | str | None, dialect: Dialect
    ) -> datetime | None:
        """Return the instant, in UTC."""
        if isinstance(value, str):
            return datetime.fromisoformat(value)
        return None if value is None else value.astimezone(UTC)


class Document(TypeDecorator[bytes]):
    """A JSON document, stored byte for byte as text that is readable in the database."""

    impl = Text
    cache_ok = True

    def process_bind_param(self, value: bytes | None, dialect: Dialect) -> str | None:
        """Return UTF-8 bytes as text."""
        return None if value is None else value.decode()

    def process_result_value(self, value: str | None, dialect: Dialect) -> bytes | None:
        """Return the bytes."""
        return None if value is None else value.encode()


class Packed(Document):
    """A JSON document, kept byte for byte; SQLite compresses it if it is long.

    PostgreSQL compresses long text by itself. SQLite does not, but accepts bytes in a text column:
    text is a plain document, bytes are one compressed by zlib. So documents stored before this type
    was used are read unchanged.
    """

    cache_ok = True

    def process_bind_param(self, value: bytes | None, dialect: Dialect) -> Any:
        """Return the text or, for a long document in SQLite, compressed bytes."""
        if value is None or dialect.name != "sqlite" or len(value) < PACKED_FROM:
            return super().process_bind_param(value, dialect)
        return zlib.compress(value, PACKED_LEVEL)

    def process_result_value(self, value: str | bytes | None, dialect: Dialect) -> bytes | None:
        """Return the document's bytes."""
        if isinstance(value, bytes):
            return zlib.decompress(value)
        return super().process_result_value(value, dialect)


class Written(TypeDecorator[Any]):
    """A small list inside a row, as a JSON document: stick lengths, sheet sizes, scopes.

    Such lists are read and written with their row and never searched, so separate tables would only
    add joins.
    """

    impl = Text
    cache_ok = True

    def __init__(self, codec: Codec[Any]) -> None:
        super().__init__()
        self.codec = codec

    def process_bind_param(self, value: Any, dialect: Dialect) -> str | None:
        """Return the document."""
        return None if value is None else write_json(self.codec, value)

    def process_result_value(self, value: str | None, dialect: Dialect) -> Any:
        """Return the value."""
        return None if value is None else read_json(self.codec, value)
