"""Questions about the member's own bird, made from its card and its file. Pure; what is unknown is not asked."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence

from coach.judge.tokens import words_of_phrase
from coach.judge.values import Match, compare_color
from coach.knowledge.language import Language
from coach.knowledge.model import Bird, Card, Fault, Sex
from coach.knowledge.questions import KeyPoint, Number, Question, WrongAnswer

__all__ = ["bird_questions", "card_questions"]

ROUNDED_LB = 0.13  # rounded kilograms and ounces stay within two ounces
ROUNDED_OZ = 1.0
_OF_PART = {
    "eye": "eyes", "earlobe": "earlobes", "shank": "shanks", "beak": "beak", "skin": "skin", "undercolor": "undercolor",
}  # fmt: skip
_COLOR_LEVELS = {"eye": "junior", "earlobe": "junior", "shank": "junior", "beak": "junior"}


def card_questions(card: Card, language: Language) -> tuple[Question, ...]:
    """Weights, class, origin, comb, colors, egg color, toes and disqualifications, as far as the card knows them."""
    makers = (_weights, _class, _origin, _comb, _colors, _eggs, _toes, _disqualifications)
    return tuple(question for make in makers for question in make(card, language))


def bird_questions(bird: Bird, card: Card) -> tuple[Question, ...]:
    """Age and sex, faults and plans, and for a female what the pubic bones tell."""
    found = [_sex_age(bird)]
    if bird.faults:
        found.append(_faults(bird))
    found += [_plan(fault) for fault in bird.faults if fault.plan]
    if bird.sex is Sex.FEMALE and card.species == "chicken":
        found.append(_lay(bird))
    return tuple(found)


def _name(card: Card) -> str:
    return " ".join(p for p in (card.variety, card.breed) if p)


def _sources(card: Card, group: str) -> tuple[str, ...]:
    whole, top = group, group.split(".", 1)[0]
    return card.sources.get(whole) or card.sources.get(top) or card.sources.get("*") or ()


def _weights(card: Card, language: Language) -> Iterator[Question]:
    in_pounds = bool(card.weights_lb)
    weights: Mapping[str, float] = card.weights_lb if in_pounds else card.weights_bantam_oz
    unit, within = ("pound", ROUNDED_LB) if in_pounds else ("ounce", ROUNDED_OZ)
    group = "weights_lb" if in_pounds else "weights_bantam_oz"
    for which, value in weights.items():
        others = [
            WrongAnswer(f"that is the {name}; a {which} weighs {value:g} {unit}s", number=Number(other, unit, within / 2))
            for name, other in weights.items()
            if abs(other - value) > 2 * within
        ]
        yield Question(
            id=f"card-weight-{which}",
            topic="my card",
            level="junior",
            ask=f"How much should a {_name(card)} {which} weigh?",
            points=(KeyPoint(f"{value:g} {unit}s", number=Number(value, unit, within)),),
            need=1,
            wrong=tuple(others),
            sources=_sources(card, group),
        )


def _class(card: Card, language: Language) -> Iterator[Question]:
    if card.show_class:
        wrong = [f for name, forms in language.classes_of(card.species).items() if name != card.show_class for f in forms]
        forms = language.classes_of(card.species).get(card.show_class, (card.show_class.lower(),))
        yield _one("card-class", "intermediate", f"In which class is the {_name(card)} shown?", card.show_class, forms,
                   wrong, f"it is in the {card.show_class} class", _sources(card, "class"))  # fmt: skip


def _origin(card: Card, language: Language) -> Iterator[Question]:
    origin = card.origin
    if origin is None or not (origin.country or origin.place):
        return
    names = [p for p in (origin.place, origin.country) if p]
    forms = [*(p.lower() for p in names), *language.countries.get(origin.country or "", ())]
    wrong = [f for name, said in language.countries.items() if name != origin.country for f in said if f not in forms]
    tell = ", ".join(names)
    yield _one("card-origin", "intermediate", f"Where does the {card.breed} come from?", tell, forms, wrong,
               f"it comes from {tell}", _sources(card, "origin"))  # fmt: skip


def _comb(card: Card, language: Language) -> Iterator[Question]:
    if card.comb is None:
        return
    kind = card.comb.type
    forms = language.comb_types.get(kind, (kind.lower(),))
    wrong = [f for name, said in language.comb_types.items() if name != kind for f in said if f not in forms]
    sources = _sources(card, "comb")
    yield _one("card-comb", "junior", f"What kind of comb does a {_name(card)} have?", kind, forms, wrong,
               f"it has a {kind} comb", sources)  # fmt: skip
    if card.comb.points and "single" in kind:
        number = Number(card.comb.points, "points")
        point = KeyPoint(f"{card.comb.points} points", number=number)
        yield Question("card-comb-points", "my card", "intermediate", f"How many points stand on the comb of a {card.breed}?",
                       (point,), 1, sources=sources)  # fmt: skip


def _colors(card: Card, language: Language) -> Iterator[Question]:
    for part, plural in _OF_PART.items():
        accepted = card.colors.get(part)
        if accepted:
            yield _color(f"card-color-{part}", _COLOR_LEVELS.get(part, "intermediate"),
                         f"What color are the {plural} of a {_name(card)}?" if plural.endswith("s")
                         else f"What color is the {plural} of a {_name(card)}?",
                         accepted, _sources(card, f"colors.{part}"), language)  # fmt: skip


def _eggs(card: Card, language: Language) -> Iterator[Question]:
    if card.egg_color:
        yield _color("card-egg-color", "junior", f"What color are the eggs of a {card.breed}?", card.egg_color,
                     _sources(card, "egg_color"), language)  # fmt: skip


def _toes(card: Card, language: Language) -> Iterator[Question]:
    if card.toes is not None:
        point = KeyPoint(f"{card.toes}", number=Number(card.toes, "toes"))
        yield Question("card-toes", "my card", "junior", f"How many toes are on one foot of a {card.breed}?", (point,), 1,
                       sources=_sources(card, "toes"))  # fmt: skip


def _disqualifications(card: Card, language: Language) -> Iterator[Question]:
    if card.disqualifications:
        points = tuple(KeyPoint(d, _ways_to_tell(d)) for d in card.disqualifications)
        yield Question("card-disqualifications", "my card", "senior",
                       f"What disqualifies a {_name(card)}? Give me {min(2, len(points))}." if len(points) > 1
                       else f"What disqualifies a {_name(card)}?",
                       points, min(2, len(points)), sources=_sources(card, "disqualifications"), caution="rules")  # fmt: skip


def _one(
    id: str, level: str, ask: str, tell: str, forms: Iterable[str], wrong: Iterable[str], note: str, sources: tuple[str, ...]
) -> Question:
    say = tuple(dict.fromkeys(_form(f, side_by_side=True) for f in forms))
    mistakes = tuple(f for f in dict.fromkeys(_form(f, side_by_side=True) for f in wrong) if f not in say)
    wrongs = (WrongAnswer(note, mistakes, point=1),) if mistakes else ()
    return Question(id, "my card", level, ask, (KeyPoint(tell, say),), 1, wrong=wrongs, sources=sources)


def _color(id: str, level: str, ask: str, accepted: Sequence[str], sources: tuple[str, ...], language: Language) -> Question:
    told = " or ".join(accepted)
    words = [w for phrase in accepted for w in words_of_phrase(phrase)]
    colors = [w for w in words if w in language.colors]
    say = tuple(dict.fromkeys([*colors, *(_form(a) for a in accepted)]))
    wrong = tuple(c for c in sorted(language.colors) if compare_color((c,), accepted, language) is Match.OTHER and c not in words)
    return Question(id, "my card", level, ask, (KeyPoint(told, say),), 1, wrong=(WrongAnswer(f"it is {told}", wrong, point=1),),
                    sources=sources)  # fmt: skip


def _form(phrase: str, side_by_side: bool = False) -> str:
    """The phrase as a spoken form; "or" and "and" of a written list open alternatives."""
    words = words_of_phrase(phrase)
    if side_by_side:
        return "_".join(words)
    out: list[str] = []
    joins = False
    for word in words:
        if word == "or":
            joins = True
        elif joins and out:
            out[-1] += f"/{word}"
            joins = False
        else:
            out.append(word)
    return " ".join(out)


def _ways_to_tell(phrase: str) -> tuple[str, ...]:
    """ "shanks other than yellow" is told as "the wrong shanks", "shanks that are not yellow"."""
    thing, other, right = phrase.partition(" other than ")
    if not other:
        return (_form(phrase),)
    thing, right = _form(thing).split()[-1], _form(right).split()[-1]
    return (f"{thing} other {right}", f"{thing} no {right}", f"wrong {thing}", f"{thing} but {right}")


def _sex_age(bird: Bird) -> Question:
    right = {"cock": ["cock", "rooster"], "cockerel": ["cockerel"], "hen": ["hen"], "pullet": ["pullet"]}
    other = [w for name, words in right.items() if name != bird.sex_age for w in words]
    if bird.sex_age == "cockerel":
        other.remove("rooster")  # the everyday word for any male
    age = {"cock": "a male over one year", "hen": "a female over one year",
           "cockerel": "a male under one year", "pullet": "a female under one year"}  # fmt: skip
    says = {"cock": "over year", "hen": "over year", "cockerel": "under year", "pullet": "under year"}
    points = (
        KeyPoint(bird.sex_age, tuple(right[bird.sex_age])),
        KeyPoint(age[bird.sex_age], (says[bird.sex_age], "young" if "under" in says[bird.sex_age] else "adult/grown/mature")),
    )
    note = f"your file says {bird.sex_age}"
    return Question("bird-sex-age", "my bird", "junior", f"Which word fits {bird.name}: cock, hen, cockerel or pullet? Why?",
                    points, 2, wrong=(WrongAnswer(note, tuple(other), point=1),), sources=("uidaho-cis1206",))  # fmt: skip


def _faults(bird: Bird) -> Question:
    points = tuple(KeyPoint(f.say, tuple(_form(s) for s in (f.say, *f.also))) for f in bird.faults)
    nothing = WrongAnswer("every bird has faults, and yours are in your file: to know them shows judgement",
                          ("no fault", "nothing wrong", "perfect"))  # fmt: skip
    return Question("bird-faults", "my bird", "junior", f"Be honest with me: which faults does {bird.name} have?", points,
                    len(points), wrong=(nothing,), sources=("your bird's file",))  # fmt: skip


def _plan(fault: Fault) -> Question:
    words = tuple(_form(s) for s in (fault.plan_words or (fault.plan or "",)))
    point = KeyPoint(fault.plan or "", words)
    return Question(f"bird-plan-{_plain(fault.id)}", "my bird", "intermediate", f"What do you mean to do about the {fault.say}?",
                    (point,), 1, sources=("your bird's file",))  # fmt: skip


def _plain(id: str) -> str:
    return id.lower().replace("_", "-")


def _lay(bird: Bird) -> Question:
    points = (
        KeyPoint("how many fingers apart the pubic bones are", ("wide", "apart", "close", "tight", "together", "spread"),
                 Number(2, "fingers", 2)),
        KeyPoint("whether she lays, which that shows", ("lay", "layer", "production", "egg", "no lay")),
    )  # fmt: skip
    return Question("bird-pubic-bones", "my bird", "intermediate",
                    f"How far apart are the pubic bones of {bird.name}, and what does that tell you?", points, 2,
                    sources=("uky-c330", "judging-slides"))  # fmt: skip
