"""A new breed card from answers: what to ask, how an answer becomes a value, and the commented YAML they make.

Pure but for `card_text_problems`, which lets the card reader itself judge the text in a passing folder. An answer that is
left out stands in the file as a comment, so that it can be filled in later; nothing about it is asked of the member until then.
"""

from __future__ import annotations

import re
import tempfile
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from coach.knowledge.cards import PURPOSES, SPECIES, card_problems
from coach.knowledge.model import Card
from coach.knowledge.new_file import id_from_name, yaml_value
from coach.knowledge.species import sex_age_word

__all__ = [
    *("LEAVE_OUT", "QUESTIONS", "Question", "answers_of", "applies", "asked", "card_id", "card_text", "card_text_problems"),
    *("card_words", "parse_answer", "problems_of_key", "shown"),
]

LEAVE_OUT = "-"
_SOURCES = "sources"


@dataclass(frozen=True, slots=True)
class Question:
    """One value to ask for. key is the dotted path in the file; kind how an answer is read: text, list, whole, flag, pounds."""

    key: str
    ask: str
    comment: str
    kind: str = "text"
    only: tuple[str, ...] = ()  # species it is asked of; none means all
    needed: bool = False


_COMBED = ("chicken",)
_BEAKED = ("chicken", "turkey", "guinea")
_WATERFOWL = ("duck", "goose")
QUESTIONS: tuple[Question, ...] = (
    Question("species", f"What kind of bird is it? ({', '.join(SPECIES)})", f"one of {', '.join(SPECIES)}", needed=True),
    Question("breed", "Which breed?", "the breed's name alone, as in Orpington", needed=True),
    Question("variety", "Which variety?", "the color or pattern, as in Buff"),
    Question("class", "In which class is it shown?", "as in English, Mediterranean, Heavy"),
    Question("origin.country", "From which country does the breed come?", "as in England"),
    Question("origin.place", "From which place there?", "as in Kent"),
    Question("origin.period", "When did it arise?", "roughly, as in 1880s"),
    Question("purpose", f"What is it kept for? ({', '.join(PURPOSES)})", f"any of {', '.join(PURPOSES)}", "list"),
    Question("egg_color", "What color are its eggs?", "several accepted phrases are parted by commas", "list"),
    Question("comb.type", "Which type of comb?", "single, rose, pea, cushion, ...", only=_COMBED),
    Question("comb.points", "How many points has the comb?", "only where the standard fixes them", "whole", _COMBED),
    Question("colors.beak", "What color is the beak?", "accepted phrases", "list", _BEAKED),
    Question("colors.bill", "What color is the bill?", "accepted phrases", "list", _WATERFOWL),
    Question("colors.eye", "What color are the eyes?", "as in reddish bay", "list"),
    Question("colors.earlobe", "What color are the earlobes?", "accepted phrases", "list", _COMBED),
    Question("colors.knob", "What color is the knob, if the breed has one?", "accepted phrases", "list", ("goose",)),
    Question("colors.beard", "What color is the beard?", "accepted phrases", "list", ("turkey",)),
    Question("colors.hackle", "What color is the hackle?", "accepted phrases", "list", _COMBED),
    Question("colors.undercolor", "What color is the undercolor?", "accepted phrases", "list", ("chicken", "turkey")),
    Question("colors.tail", "What color is the tail?", "accepted phrases", "list"),
    Question("colors.shank", "What color are the shanks?", "as in yellow", "list"),
    Question("colors.skin", "What color is the skin?", "accepted phrases", "list"),
    Question("toes", "How many toes on each foot?", "a number", "whole", ("chicken", "turkey")),
    Question("feathered_legs", "Are the legs feathered? (yes, no)", "true or false", "flag", _COMBED),
    *(
        Question(f"weights_lb.{key}", f"What should {{{key}}} weigh?", "pounds", "pounds")
        for key in ("cock", "hen", "cockerel", "pullet")
    ),
    Question("disqualifications", "What disqualifies it? (short phrases, commas between)", "short phrases", "list"),
)


def applies(question: Question, species: str) -> bool:
    """Whether the question is asked of the species."""
    return not question.only or species in question.only


def asked(question: Question, species: str) -> str:
    """The question in the species' words."""
    if question.kind != "pounds":
        return question.ask
    word = sex_age_word(species, question.key.rpartition(".")[2])
    return question.ask.format(**{question.key.rpartition(".")[2]: f"{'an' if word[0] in 'aeiou' else 'a'} {word}"})


def parse_answer(question: Question, answer: str) -> Any:
    """The value of an answer: text, list of phrases, whole number, flag or pounds.

    Raises:
        ValueError: it cannot be read as that kind; the text says what to write.
    """
    if question.kind == "list":
        return [phrase for part in answer.split(",") if (phrase := " ".join(part.split()))]
    if question.kind == "whole":
        if not answer.isdigit():
            raise ValueError(f"'{answer}' is no whole number; write one such as 5")
        return int(answer)
    if question.kind == "flag":
        if answer.lower() not in ("yes", "y", "no", "n", "true", "false"):
            raise ValueError(f"'{answer}' is neither yes nor no")
        return answer.lower() in ("yes", "y", "true")
    return _pounds(answer) if question.kind == "pounds" else answer


def _pounds(answer: str) -> float:
    """Pounds from "8.5", "8 1/2", "3 kg", "38 oz" or "1 stone"; the units by a unit library."""
    match = re.fullmatch(r"(\d+(?:\.\d+)?)(?:\s+(\d)/(\d))?\s*([a-z]*)\.?", answer.lower())
    if not match or match[3] == "0":
        raise ValueError(f"'{answer}' is no weight; write one such as 8.5 or '3.8 kg'")
    number = float(match[1]) + (int(match[2]) / int(match[3]) if match[2] else 0.0)
    if not match[4] or match[4] in ("lb", "lbs", "pound", "pounds"):
        return number
    import pint

    units: Any = pint.UnitRegistry()
    try:
        quantity = units.Quantity(number, match[4])
        return round(float(quantity.to("pound").magnitude), 2)
    except (pint.UndefinedUnitError, pint.DimensionalityError) as err:
        raise ValueError(f"'{match[4]}' is no unit of weight; use lb, oz, kg, g or stone") from err


def shown(value: Any) -> str:
    """A value as the person would type it."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, (list, tuple)):
        return ", ".join(map(str, value))
    return f"{value:g}" if isinstance(value, float) else str(value)


def answers_of(card: Card) -> dict[str, Any]:
    """A card's values by the questions' keys, as a start for a near relative."""
    found: dict[str, Any] = {
        "species": card.species, "breed": card.breed, "variety": card.variety, "class": card.show_class,
        "purpose": list(card.purpose), "egg_color": list(card.egg_color), "toes": card.toes,
        "feathered_legs": card.feathered_legs, "disqualifications": list(card.disqualifications),
    }  # fmt: skip
    if card.origin:
        found |= {f"origin.{name}": getattr(card.origin, name) for name in ("country", "place", "period")}
    if card.comb:
        found |= {"comb.type": card.comb.type, "comb.points": card.comb.points}
    found |= {f"colors.{name}": list(phrases) for name, phrases in card.colors.items()}
    found |= {f"weights_lb.{name}": pounds for name, pounds in card.weights_lb.items()}
    keys = {question.key for question in QUESTIONS}
    return {key: value for key, value in found.items() if key in keys and value not in (None, [], ())}


def card_id(answers: Mapping[str, Any]) -> str:
    """The id that the variety and breed suggest: "buff-orpington"."""
    return id_from_name(f"{answers.get('variety', '')} {answers.get('breed', '')}".replace("'", ""), "my-card")


def card_words(answers: Mapping[str, Any]) -> tuple[str, ...]:
    """Every word of the answers that a member will say, in order, once."""
    spoken = [value for key, value in answers.items() if key not in ("species", "disqualifications", "origin.period")]
    texts = [text for value in spoken for text in (value if isinstance(value, list) else [value]) if isinstance(text, str)]
    return tuple(dict.fromkeys(word for text in texts for word in re.findall(r"[^\W\d_]+(?:'[^\W\d_]+)*", text)))


def card_text(
    id_: str, answers: Mapping[str, Any], sounds_like: Mapping[str, str], sources: Sequence[str], species: str | None = None
) -> str:
    """The card's file, with a comment for every value; what is unknown stands there as a comment.

    Args:
        answers: values by the questions' keys.
        sounds_like: word -> respelling.
        sources: where the values were read; "memory" when nothing is named.
    """
    kind = species or str(answers.get("species", SPECIES[0]))
    lines = [
        "# A breed card of your own. Check every value against the standard that your show goes by.",
        f"# Then: coach card check {id_}.yaml. A value that is unknown stays a comment; nothing about it is asked.",
        "format: breed-card/1",
        f"id: {yaml_value(id_)}",
    ]
    group = ""
    for question in QUESTIONS:
        if not applies(question, kind):
            continue
        head, _, name = question.key.partition(".")
        if name and head != group:
            lines.append(f"{head}:" if _any(answers, head) else f"# {head}:")
        group = head if name else ""
        lines.append(_line(question, answers, indent="  " if name else "", name=name or head))
    lines.append("# Words that the listener's dictionary lacks, in everyday words: `coach say WORD` tells how it expects a word.")
    lines += _mapping("sounds_like", sounds_like)
    lines.append('# Where the values were read; "*" stands for all of them, a group such as weights_lb may have its own.')
    lines += [f"{_SOURCES}:", f'  "*": {yaml_value(list(sources) or ["memory"])}']
    return "\n".join(lines) + "\n"


def _any(answers: Mapping[str, Any], group: str) -> bool:
    return any(key.startswith(f"{group}.") for key in answers)


def _line(question: Question, answers: Mapping[str, Any], indent: str, name: str) -> str:
    if question.key in answers:
        return f"{indent}{name}: {yaml_value(answers[question.key])}  # {question.comment}"
    return f"{indent}# {name}:  # {question.comment}"


def _mapping(name: str, values: Mapping[str, str]) -> list[str]:
    if not values:
        return [f"# {name}:", "#   Word: everyday words that sound like it"]
    return [f"{name}:", *(f"  {yaml_value(key)}: {yaml_value(value)}" for key, value in values.items())]


def card_text_problems(id_: str, text: str) -> list[str]:
    """What the card reader says of the text, a line each, without the path."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / f"{id_}.yaml"
        path.write_text(text, encoding="utf-8")
        return [_without_path(line, path) for line in card_problems(path)]


def _without_path(line: str, path: Path) -> str:
    return re.sub(rf"^{re.escape(str(path))}:(\d+: )?", "", line)


def problems_of_key(lines: Iterable[str], key: str) -> list[str]:
    """Of the reader's lines those about one key."""
    return [line.split("': ", 1)[1] for line in lines if line.startswith(f"key '{key}': ")]
