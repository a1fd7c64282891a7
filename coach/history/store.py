"""The store of past sessions: add one, read a member's, correct a verdict, forget a member.

`open_store` gives a Store; each of its methods that writes is one transaction. The same content twice (the same digest
for the same member) is kept once.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import asdict
from datetime import datetime, timezone
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Row, Select, delete, func, insert, select
from sqlalchemy.dialects.sqlite import insert as insert_or

from coach.errors import CoachError
from coach.history import tables as t
from coach.history.database import connect, wipe_traces, writing
from coach.history.members import member_name, member_slug
from coach.history.model import ItemResult, Session
from coach.history.rows import (
    answer_row,
    storable,
    to_answer,
    to_delivery,
    to_items,
    to_region,
    to_session,
)
from coach.judge.verdict import Status
from coach.places import home_dir

__all__ = ["FILE", "NAMELESS", "Store", "history_file", "open_store"]

FILE = "history.sqlite"
NAMELESS = ""  # the slug and name of whoever gave none
_WORDING = ("item", "region", "kind", "title", "expected", "line", "required")


def history_file() -> Path:
    """Where the store lies; it may not be there yet."""
    return home_dir() / FILE


@contextmanager
def open_store(path: Path | None = None) -> Iterator[Store]:
    """The store at path (the user's own if None), made when missing.

    Raises:
        CoachError: it cannot be read or written, or is of a newer coach.
    """
    with connect(path or history_file()) as connection:
        yield Store(connection)


class Store:
    """The history, open. Members are given by name or slug; None is whoever gave no name."""

    def __init__(self, connection: Connection) -> None:
        self._connection = connection
        self._wordings: dict[tuple[Any, ...], int] = {}  # ids found in this transaction

    def add(self, session: Session, member: str | None) -> tuple[int, bool]:
        """Keep a session; its number, and whether it is new (False: the same content was kept before)."""
        return self.add_all([session], member)[0]

    def add_all(self, sessions: Iterable[Session], member: str | None) -> tuple[tuple[int, bool], ...]:
        """Keep several sessions of one member, all or none; as add, for each."""
        name = NAMELESS if member is None else member_name(member)
        slug = NAMELESS if member is None else member_slug(member)
        with writing(self._connection):
            self._wordings.clear()  # while we hold the write lock nobody else changes them
            member_id = self._row_id(t.members, {"slug": slug}, {"name": name})
            return tuple(self._add(session, member_id) for session in sessions)

    def members(self) -> tuple[str, ...]:
        """The names of all with at least one session, in alphabetical order; NAMELESS first if there is any."""
        with self._connection.begin():
            has_session = select(t.sessions.c.id).where(t.sessions.c.member_id == t.members.c.id).exists()
            rows = self._connection.execute(select(t.members.c.name).where(has_session).order_by(t.members.c.slug))
            return tuple(row.name for row in rows)

    def counts(self, since: datetime) -> dict[str, tuple[int, int]]:
        """Member's name -> how many sessions in all, and how many since a date."""
        lately = func.count().filter(t.sessions.c.at >= _utc(since))
        query = select(t.members.c.name, func.count(), lately).join(t.sessions).group_by(t.members.c.id)
        with self._connection.begin():
            rows = self._connection.execute(query.order_by(t.members.c.slug))
            return {name: (int(n), int(n_lately)) for name, n, n_lately in rows}

    def sessions(self, member: str | None, *, since: datetime | None = None, last: int | None = None) -> tuple[Session, ...]:
        """A member's sessions, the oldest first; only those since a date, only the last few, if asked."""
        chosen = (
            select(t.sessions.c.id)
            .join(t.members, t.members.c.id == t.sessions.c.member_id)
            .where(t.members.c.slug == _slug(member))
            .order_by(t.sessions.c.at.desc(), t.sessions.c.id.desc())
        )
        if since is not None:
            chosen = chosen.where(t.sessions.c.at >= _utc(since))
        with self._connection.begin():
            return self._read(chosen if last is None else chosen.limit(last))

    def session(self, number: int) -> tuple[str, Session] | None:
        """One session by its number, with its member's name."""
        with self._connection.begin():
            found = self._read(select(t.sessions.c.id).where(t.sessions.c.id == number))
            owner = select(t.members.c.name).join(t.sessions).where(t.sessions.c.id == number)
            return (str(self._connection.scalar(owner)), found[0]) if found else None

    def overrule(self, number: int, item: str, now: Status) -> Status:
        """A leader corrects one verdict of a rehearsal for good; returns what it was.

        Raises:
            CoachError: there is no such session, or it has no such item.
        """
        with writing(self._connection):
            was = self._connection.scalar(
                select(t.verdicts.c.status)
                .join(t.wordings, t.wordings.c.id == t.verdicts.c.wording_id)
                .where(t.verdicts.c.session_id == number, t.wordings.c.item == item)
            )
            if was is None:
                raise CoachError(f"session {number}: has no item '{item}'; look at the names in `coach compare`")
            same = (t.overrulings.c.session_id == number) & (t.overrulings.c.item == item)
            self._connection.execute(delete(t.overrulings).where(same))
            row = {"session_id": number, "item": item, "about": "", "was": was, "now": now.value}
            self._connection.execute(insert(t.overrulings), row)
            return Status(was)

    def forget(self, member: str | None) -> int:
        """Delete a member with all sessions, and wordings only they used; how many sessions that were.

        The bytes are gone from the file once `wipe_traces` has run.
        """
        with writing(self._connection):
            ids = select(t.members.c.id).where(t.members.c.slug == _slug(member)).scalar_subquery()
            count = select(func.count()).select_from(t.sessions).where(t.sessions.c.member_id == ids)
            n_sessions = int(self._connection.scalar(count) or 0)
            self._connection.execute(delete(t.sessions).where(t.sessions.c.member_id == ids))
            self._connection.execute(delete(t.members).where(t.members.c.slug == _slug(member)))
            used = select(t.verdicts.c.wording_id).distinct()
            self._connection.execute(delete(t.wordings).where(t.wordings.c.id.not_in(used)))
            return n_sessions

    def wipe_traces(self) -> bool:
        """Rebuild the file so that nothing deleted is left in it; False while another process is reading it."""
        return wipe_traces(self._connection)

    def setting(self, key: str) -> str | None:
        """A setting's value, None when it was never made."""
        with self._connection.begin():
            return self._connection.scalar(select(t.settings.c.value).where(t.settings.c.key == key))

    def set(self, key: str, value: str | None) -> None:
        """Make a setting, or with None unmake it."""
        with writing(self._connection):
            self._connection.execute(delete(t.settings).where(t.settings.c.key == key))
            if value is not None:
                self._connection.execute(insert(t.settings), {"key": key, "value": value})

    def _add(self, session: Session, member_id: int) -> tuple[int, bool]:
        same = (t.sessions.c.member_id == member_id) & (t.sessions.c.digest == session.digest)
        known = self._connection.scalar(select(t.sessions.c.id).where(same))
        return (self._insert(session, member_id), True) if known is None else (int(known), False)

    def _insert(self, session: Session, member_id: int) -> int:
        bird = {"bird": session.bird, "name": session.bird_name, "card": session.card, "breed": session.breed}
        row = {
            "member_id": member_id,
            "bird_id": self._row_id(t.birds, {"member_id": member_id, **bird}),
            "kind": session.kind,
            "at": _utc(session.when),
            "route": session.route,
            "file": session.file,
            "seconds": session.seconds,
            "timed": session.timed,
            "listener": session.listener,
            "digest": session.digest,
        }
        (number,) = self._connection.execute(insert(t.sessions), storable(row)).inserted_primary_key or (0,)
        self._insert_many(t.verdicts, number, [self._verdict(i) for i in session.items])
        self._insert_many(t.region_times, number, [asdict(r) for r in session.regions])
        if session.delivery is not None:
            self._insert_many(t.delivery, number, [asdict(session.delivery)])
        self._insert_many(t.answers, number, [answer_row(a) for a in session.answers])
        self._insert_many(
            t.overrulings,
            number,
            [
                {"item": a.question_id, "about": o.about, "was": o.was, "now": o.now}
                for a in session.answers
                for o in a.overrulings
            ],
        )
        return int(number)

    def _insert_many(self, table: Any, number: int, rows: Sequence[dict[str, Any]]) -> None:
        """Rows of one session; a table with a place gets them numbered in their order."""
        if rows:
            places = [{"place": i} if "place" in table.c and "place" not in row else {} for i, row in enumerate(rows)]
            full = [storable({"session_id": number, **place, **row}) for place, row in zip(places, rows, strict=True)]
            self._connection.execute(insert(table), full)

    def _verdict(self, item: ItemResult) -> dict[str, Any]:
        wording = tuple(getattr(item, name) for name in _WORDING)
        if wording not in self._wordings:
            self._wordings[wording] = self._row_id(t.wordings, dict(zip(_WORDING, wording, strict=True)))
        return {
            "wording_id": self._wordings[wording],
            "status": item.status.value,
            "heard": item.heard,
            "start_s": item.start_s,
            "mended": item.mended,
        }

    def _row_id(self, table: Any, key: dict[str, Any], more: dict[str, Any] | None = None) -> int:
        """The id of the row with this unique key, made when missing."""
        key = storable(key)
        self._connection.execute(insert_or(table).values(**key, **(more or {})).on_conflict_do_nothing())
        found = self._connection.scalar(select(table.c.id).where(*(table.c[name] == value for name, value in key.items())))
        return int(found or 0)

    def _read(self, chosen: Select[Any]) -> tuple[Session, ...]:
        """The chosen sessions, the oldest first, in seven queries however many they are."""
        ids = chosen.subquery()
        heads = self._connection.execute(
            select(t.sessions, t.birds.c.bird, t.birds.c.name.label("bird_name"), t.birds.c.card, t.birds.c.breed)
            .join(t.birds, t.birds.c.id == t.sessions.c.bird_id)
            .where(t.sessions.c.id.in_(select(ids.c.id)))
            .order_by(t.sessions.c.at, t.sessions.c.id)
        ).all()
        rulings = self._by_session(t.overrulings, ids)
        verdicts = self._by_session(t.verdicts, ids)
        used = select(t.verdicts.c.wording_id).where(t.verdicts.c.session_id.in_(select(ids.c.id)))
        wordings = {w.id: w for w in self._connection.execute(select(t.wordings).where(t.wordings.c.id.in_(used)))}
        regions, spoken, answers = (self._by_session(table, ids) for table in (t.region_times, t.delivery, t.answers))
        return tuple(
            to_session(
                row,
                items=to_items(verdicts[row.id], wordings, rulings[row.id]),
                regions=tuple(to_region(r) for r in regions[row.id]),
                delivery=next((to_delivery(d) for d in spoken[row.id]), None),
                answers=tuple(to_answer(a, rulings[row.id]) for a in answers[row.id]),
            )
            for row in heads
        )

    def _by_session(self, table: Any, ids: Any) -> dict[int, list[Row[Any]]]:
        order = table.c.place if "place" in table.c else table.c.session_id
        rows = select(table).where(table.c.session_id.in_(select(ids.c.id))).order_by(table.c.session_id, order)
        found: dict[int, list[Row[Any]]] = defaultdict(list)
        for row in self._connection.execute(rows):
            found[row.session_id].append(row)
        return found


def _slug(member: str | None) -> str:
    return NAMELESS if not member else member_slug(member)


def _utc(when: datetime) -> str:
    return when.astimezone(timezone.utc).isoformat(timespec="microseconds")
