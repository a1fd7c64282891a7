"""HTML made of escaped pieces: text that has not been made by `tag` can never become markup."""

from __future__ import annotations

from html import escape

__all__ = ["Html", "joined", "tag"]

_EMPTY = frozenset({"meta", "br", "rect", "use", "path"})


class Html(str):
    """Text that is markup already; everything else is escaped."""

    __slots__ = ()


def joined(*pieces: str) -> Html:
    """The pieces in a row, those that are not Html escaped."""
    return Html("".join(piece if isinstance(piece, Html) else escape(_visible(piece)) for piece in pieces))


def tag(name: str, /, *children: str, **attributes: str | float | bool) -> Html:
    """An element. `class_` is class and `data_at` is data-at; True gives a bare attribute, False none."""
    inside = "".join(_attribute(key, value) for key, value in attributes.items())
    if name in _EMPTY:
        return Html(f"<{name}{inside}>")
    return Html(f"<{name}{inside}>{joined(*children)}</{name}>")


def _attribute(key: str, value: str | float | bool) -> str:
    name = key.rstrip("_").replace("_", "-")
    if isinstance(value, bool):
        return f" {name}" if value else ""
    return f' {name}="{escape(_visible(str(value)))}"'


def _visible(text: str) -> str:
    """Control characters and half characters become spaces."""
    return "".join(c if c.isprintable() or c == "\n" else " " for c in text)
