"""Which words of a sentence speak of another bird or breed: its values and checks are not this bird's.

In: a sentence and its mentions. Out: token places. Pure. Naming a part there still counts. Talk of another bird begins with
a subject such as "a rooster would", "my other hen", "Leghorns have", "some birds", and ends where this bird comes back:
"but hers", "she", "this one".
"""

from __future__ import annotations

from collections.abc import Sequence

from coach.judge.lexicon import Lexicon, Meaning
from coach.judge.mentions import Mention
from coach.judge.tokens import Sentence, singular
from coach.knowledge.language import Language
from coach.knowledge.model import Sex
from coach.knowledge.species import bird_words, sex_words

__all__ = ["spoken_of_others"]

_BIRDS = bird_words() | {"breed", "one"}
_OTHER = frozenset("other another some most many".split())
_BEFORE = frozenset("a an the in on for with unlike like than and but or while whereas where most many all other our my".split())
_UNLIKE = frozenset("unlike than like".split())
_HAVE = frozenset(
    "have has had would usually grow grows get gets can might do "
    "does did is are lay lays may will come comes belong weigh".split()
)
_WEIGHED = frozenset("pound ounce kilo kilogram gram stone weigh weight weighing weighed".split())
_PAST = frozenset("year season fall summer spring winter show time month week fair".split())
_BACK_AFTER_BREAK = frozenset("her his this these my our here i we now".split())
_BREAKS = frozenset("but and while whereas so because then although".split())


def spoken_of_others(sentence: Sentence, here: Sequence[Mention], lexicon: Lexicon, language: Language) -> frozenset[int]:
    """Places of the tokens that speak of another bird."""
    words = [singular(t.text) for t in sentence]
    out: set[int] = set()
    at = 0
    while at < len(words):
        if not _begins(words, at, here, lexicon, language):
            at += 1
            continue
        end = _end(words, sentence, at, lexicon)
        out.update(range(at, end))
        at = end
    return frozenset(out)


def _begins(words: Sequence[str], at: int, here: Sequence[Mention], lexicon: Lexicon, language: Language) -> bool:
    """Whether talk of another bird begins at this word."""
    before = words[at - 1] if at else ""
    if words[at] == "last" and words[at + 1 : at + 2] and words[at + 1] in _PAST and "had" in words[at:]:
        return True
    if words[at] in _OTHER and before not in ("each", "the", "this") and _names_bird(words[at + 1 : at + 3]):
        return True
    if before in ("'s", "brother", "sister", "friend", "cousin", "neighbor") and words[at] in _BIRDS - {"one"}:
        return bool(set(words[:at]) & (language.people | {"judge"}))
    if _WEIGHED & set(words):  # the weights of all four birds of the breed are this bird's facts
        return _another_breed(words, at, here, lexicon)
    return _other_sex(words, at, lexicon) or _another_breed(words, at, here, lexicon)


def _names_bird(words: Sequence[str]) -> bool:
    return bool(set(words) & (_BIRDS - {"one"})) or list(words[:1]) == ["one"]


def _other_sex(words: Sequence[str], at: int, lexicon: Lexicon) -> bool:
    """ "A rooster would have", "on a cock", "old drakes have": a bird of the other sex, as a subject."""
    other = Sex.FEMALE if lexicon.bird.sex is Sex.MALE else Sex.MALE
    forms = (form.split() for form in sex_words(lexicon.card.species, other))
    end = max((at + len(form) for form in forms if list(words[at : at + len(form)]) == form), default=at)
    if end == at or not _opens(words, at):
        return False
    return bool(_HAVE & set(words[end : end + 2])) or words[max(0, at - 2) : at] in (["on", "a"], ["in", "a"])


def _another_breed(words: Sequence[str], at: int, here: Sequence[Mention], lexicon: Lexicon) -> bool:
    """ "Leghorns have white earlobes", "unlike a Leghorn": another breed as a subject, or beside this one."""
    own = lexicon.card.breed.lower()
    found = next((m for m in here if m.meaning is Meaning.BREED and m.start == at and m.key != own), None)
    if found is None or any(m.meaning is Meaning.BREED and m.key == own and m.start <= at < m.end for m in here):
        return False
    start = at
    varieties = [m for m in here if m.meaning is Meaning.VARIETY and m.end == at]
    if varieties:
        start = min(m.start for m in varieties)
    after = words[found.end : found.end + 3]
    unlike = bool(_UNLIKE & set(words[max(0, start - 3) : start]))
    return _opens(words, start) and (unlike or bool((_HAVE - {"is"}) & set(after)))


def _opens(words: Sequence[str], at: int) -> bool:
    """Whether only small words stand between here and the start of the sentence or the last break."""
    k = at - 1
    while k >= 0 and words[k] in _BEFORE:
        if words[k] in _BREAKS | _UNLIKE:
            return True
        k -= 1
    return k < 0


def _end(words: Sequence[str], sentence: Sentence, at: int, lexicon: Lexicon) -> int:
    """Where this bird comes back."""
    name = lexicon.bird.name.lower().split()[:1]
    own = {"f": "she", "m": "he"}[lexicon.bird.sex.value]
    for k in range(at + 1, len(words)):
        if sentence[k].text in ("hers", "mine", "ours"):
            return k
        if words[k] == own:
            return k
        if [words[k]] == name or words[k : k + 2] == ["this", "one"]:
            return k
        broken = words[k - 1] in _BREAKS or sentence[k - 1].comma
        if broken and words[k] in _BACK_AFTER_BREAK:
            return k
        if broken and words[k] in ("a", "an") and lexicon.card.breed.lower().split()[0] in words[k + 1 : k + 3]:
            return k
    return len(words)
