"""Records that only grow: each row carries the hash of its predecessor in the same stream.

The database refuses UPDATE and DELETE on these tables (see :mod:`shopcool.core.triggers`); this module
appends rows and recomputes the chains. A mistake is corrected by a new row that points at the old one.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, date, datetime
from decimal import Decimal
from enum import Enum
from typing import Any, ClassVar, TypeVar
from uuid import UUID

from django.conf import settings
from django.db import models, transaction

from shopcool.core.actors import Actor

GENESIS = "0" * 64


class StreamHead(models.Model):
    """The last link of one chain; locking this row serialises the appends of the stream."""

    stream = models.CharField(max_length=120, primary_key=True)
    sequence = models.BigIntegerField(default=0)
    hash = models.CharField(max_length=64, default=GENESIS)

    def __str__(self) -> str:
        return f"{self.stream} #{self.sequence}"


class ChainedRecord(models.Model):
    """One row of an append-only, hash-chained log."""

    stream = models.CharField(max_length=120)
    sequence = models.BigIntegerField()
    recorded_at = models.DateTimeField()
    recorded_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, on_delete=models.PROTECT, related_name="+"
    )
    recorded_by_name = models.CharField(max_length=150)
    previous_hash = models.CharField(max_length=64)
    hash = models.CharField(max_length=64)

    #: Columns that the chain does not cover, because the database fills them in.
    unhashed: ClassVar[frozenset[str]] = frozenset({"id", "hash"})

    class Meta:
        abstract = True
        constraints = [
            models.UniqueConstraint(fields=["stream", "sequence"], name="%(app_label)s_%(class)s_chain")
        ]


R = TypeVar("R", bound=ChainedRecord)


def plain(value: Any) -> Any:
    """Return a value as JSON carries it, the same before and after a trip through the database."""
    if isinstance(value, Enum):
        return plain(value.value)
    if isinstance(value, bool) or value is None or isinstance(value, str | int):
        return value
    if isinstance(value, float):
        return int(value) if value.is_integer() else value
    if isinstance(value, datetime):
        return value.astimezone(UTC).isoformat(timespec="microseconds")
    if isinstance(value, date | UUID | Decimal):
        return str(value)
    if isinstance(value, dict):
        return {str(key): plain(item) for key, item in value.items()}
    if isinstance(value, list | tuple):
        return [plain(item) for item in value]
    raise TypeError(f"A record can't carry {type(value).__name__}.")


def digest(record: ChainedRecord) -> str:
    """Return the SHA-256 of a row and of its predecessor's hash, as 64 hexadecimal digits."""
    columns = {
        field.attname: plain(field.to_python(getattr(record, field.attname)))
        for field in record._meta.concrete_fields
        if field.attname not in record.unhashed
    }
    text = json.dumps(columns, sort_keys=True, ensure_ascii=False, separators=(",", ":"))
    return hashlib.sha256(text.encode()).hexdigest()


def append(record: R, *, stream: str, actor: Actor, now: datetime) -> R:
    """Append a new row to its stream and return it; must run inside a transaction."""
    if not transaction.get_connection().in_atomic_block:
        raise RuntimeError("Records are appended inside a transaction.")
    head = _locked_head(stream)
    record.stream = stream
    record.sequence = head.sequence + 1
    record.recorded_at = now
    record.recorded_by_id = actor.user_id
    record.recorded_by_name = actor.name
    record.previous_hash = head.hash
    record.hash = digest(record)
    record.save(force_insert=True)
    StreamHead.objects.filter(pk=stream).update(sequence=record.sequence, hash=record.hash)
    return record


def _locked_head(stream: str) -> StreamHead:
    """Return the head of a stream, locked; the first append of a stream makes it."""
    heads = StreamHead.objects.select_for_update()
    try:
        return heads.get(stream=stream)
    except StreamHead.DoesNotExist:
        StreamHead.objects.bulk_create([StreamHead(stream=stream)], ignore_conflicts=True)
        return heads.get(stream=stream)


@dataclass(frozen=True)
class ChainBreak:
    """The first place where a chain does not hold."""

    table: str
    stream: str
    sequence: int
    finding: str

    def __str__(self) -> str:
        return f"{self.table}, stream {self.stream}, row {self.sequence}: {self.finding}"


def chain_breaks(model: type[ChainedRecord], only_stream: str = "") -> Iterator[ChainBreak]:
    """Recompute every chain of a table, or one alone, and yield the first break of each that has one."""
    only = {"stream": only_stream} if only_stream else {}
    heads = dict(StreamHead.objects.filter(**only).values_list("stream", "hash"))
    found = model._default_manager.filter(**only).order_by("stream", "sequence")
    rows = found.iterator(chunk_size=2000)
    stream, sequence, last_hash, broken = "", 0, GENESIS, False
    for row in rows:
        if row.stream != stream:
            if stream and not broken and heads.get(stream) != last_hash:
                yield ChainBreak(model._meta.db_table, stream, sequence + 1, "the newest rows are missing")
            stream, sequence, last_hash, broken = row.stream, 0, GENESIS, False
        if broken:
            continue
        finding = _finding(row, sequence + 1, last_hash)
        if finding:
            broken = True
            yield ChainBreak(model._meta.db_table, stream, row.sequence, finding)
        sequence, last_hash = row.sequence, row.hash
    if stream and not broken and heads.get(stream) != last_hash:
        yield ChainBreak(model._meta.db_table, stream, sequence + 1, "the newest rows are missing")


def _finding(row: ChainedRecord, expected_sequence: int, last_hash: str) -> str:
    if row.sequence != expected_sequence:
        return f"row {expected_sequence} is missing"
    if row.previous_hash != last_hash:
        return "it does not follow its predecessor"
    if row.hash != digest(row):
        return "its content was changed after it was recorded"
    return ""
