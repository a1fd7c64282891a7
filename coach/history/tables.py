"""The store's tables as the queries see them; the database itself is made by the migrations, and a test compares the two."""

from __future__ import annotations

from sqlalchemy import (
    REAL,
    Column,
    ForeignKey,
    Index,
    Integer,
    MetaData,
    Table,
    Text,
    UniqueConstraint,
)

__all__ = [
    "METADATA",
    "answers",
    "birds",
    "delivery",
    "members",
    "overrulings",
    "region_times",
    "sessions",
    "settings",
    "verdicts",
    "version",
    "wordings",
]

METADATA = MetaData()


def _session_key() -> Column[int]:
    return Column("session_id", Integer, ForeignKey("sessions.id", ondelete="CASCADE"), primary_key=True)


def _needed(name: str, kind: type[Text] | type[Integer] | type[REAL[float]]) -> Column[object]:
    return Column(name, kind, nullable=False)


version = Table("version", METADATA, Column("number", Integer, primary_key=True), _needed("applied_at", Text))

settings = Table("settings", METADATA, Column("key", Text, primary_key=True), _needed("value", Text))

members = Table(  # the slug "" stands for sessions recorded without a name
    "members",
    METADATA,
    Column("id", Integer, primary_key=True),
    Column("slug", Text, nullable=False, unique=True),
    _needed("name", Text),
)

birds = Table(
    "birds",
    METADATA,
    Column("id", Integer, primary_key=True),
    Column("member_id", Integer, ForeignKey("members.id", ondelete="CASCADE"), nullable=False),
    *(_needed(name, Text) for name in ("bird", "name", "card", "breed")),
    UniqueConstraint("member_id", "bird", "name", "card", "breed"),
)

sessions = Table(
    "sessions",
    METADATA,
    Column("id", Integer, primary_key=True),
    Column("member_id", Integer, ForeignKey("members.id", ondelete="CASCADE"), nullable=False),
    Column("bird_id", Integer, ForeignKey("birds.id", ondelete="CASCADE"), nullable=False),
    _needed("kind", Text),
    _needed("at", Text),  # UTC, always with microseconds, so that text order is time order
    _needed("route", Text),
    _needed("file", Text),
    _needed("seconds", REAL),
    _needed("timed", Integer),
    _needed("listener", Text),
    _needed("digest", Text),
    UniqueConstraint("member_id", "digest"),
    Index("sessions_by_member", "member_id", "at"),
    Index("sessions_by_bird", "bird_id"),
)

wordings = Table(  # what an item asks and how it is told; thousands of verdicts share one row
    "wordings",
    METADATA,
    Column("id", Integer, primary_key=True),
    *(_needed(name, Text) for name in ("item", "region", "kind", "title", "expected", "line")),
    _needed("required", Integer),
    UniqueConstraint("item", "region", "kind", "title", "expected", "line", "required"),
)

verdicts = Table(
    "verdicts",
    METADATA,
    _session_key(),
    Column("place", Integer, primary_key=True),
    Column("wording_id", Integer, ForeignKey("wordings.id"), nullable=False),
    _needed("status", Text),
    Column("heard", Text),
    Column("start_s", REAL),
    _needed("mended", Integer),
    Index("verdicts_by_wording", "wording_id"),
    sqlite_with_rowid=False,
)

region_times = Table(
    "region_times",
    METADATA,
    _session_key(),
    Column("place", Integer, primary_key=True),
    _needed("region", Text),
    _needed("title", Text),
    _needed("seconds", REAL),
    _needed("status", Text),
    _needed("n_told", Integer),
    _needed("n_required", Integer),
    _needed("out_of_order", Integer),
    sqlite_with_rowid=False,
)

delivery = Table(
    "delivery",
    METADATA,
    _session_key(),
    Column("words_per_minute", REAL),
    _needed("fillers", Integer),
    _needed("long_pauses", Integer),
    _needed("speaking_s", REAL),
)

answers = Table(
    "answers",
    METADATA,
    _session_key(),
    Column("place", Integer, primary_key=True),
    *(_needed(name, Text) for name in ("question", "topic", "level")),
    _needed("share", REAL),
    *(_needed(name, Text) for name in ("covered", "missed", "wrong")),  # each a JSON list of key points
    Column("first_word_s", REAL),
    Column("seconds", REAL),
    sqlite_with_rowid=False,
)

overrulings = Table(  # about is empty for a rehearsal's item, a key point for an interview's question
    "overrulings",
    METADATA,
    Column("id", Integer, primary_key=True),
    Column("session_id", Integer, ForeignKey("sessions.id", ondelete="CASCADE"), nullable=False),
    *(_needed(name, Text) for name in ("item", "about", "was", "now")),
    Index("overrulings_by_session", "session_id"),
)
