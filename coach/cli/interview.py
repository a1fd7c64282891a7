"""`coach interview`: a mock interview: questions asked, timed and scored, by a leader, alone, or for a group in turn."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable, Sequence
from dataclasses import replace
from datetime import datetime
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from coach.cli.screen import color_wanted, progress_bar, width
from coach.errors import CoachError
from coach.knowledge.model import LEVELS

if TYPE_CHECKING:
    from coach.interview.choose import PastAnswer
    from coach.interview.desk import Screen, SpokenDesk, TypedDesk
    from coach.interview.model import Interview, Score
    from coach.interview.prepare import Pool
    from coach.knowledge.questions import Question
    from coach.listen.listener import Listener
    from coach.words import TimedWords

__all__ = ["add_parser"]

MINUTES = 5.0


def add_parser(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Add the command."""
    parser = commands.add_parser("interview", help="a mock interview with a judge's questions", description=__doc__)
    parser.add_argument("--bird", metavar="FILE", help="the member's bird (bird/1 YAML); needed but for a group")
    parser.add_argument("--card", metavar="ID|FILE", help="breed card in place of the bird's own")
    parser.add_argument("--level", choices=LEVELS, default=LEVELS[0], help="default: junior")
    parser.add_argument("--questions", type=_count, default=8, metavar="N", help="how many (in a group: for each); default 8")
    parser.add_argument("--minutes", type=_minutes, metavar="M", help="for all of them; default 5, none for typed answers")
    parser.add_argument("--topics", metavar="TOPIC,...", help="only these topics (coach questions list shows them)")
    parser.add_argument("--seed", type=int, metavar="N", help="the same questions again")
    parser.add_argument("--questions-file", metavar="FILE", action="append", default=[], help="a club's own questions as well")
    parser.add_argument("--member", metavar="NAME", help="who answers; leans to what this member missed before")
    parser.add_argument("--alone", action="store_true", help="no leader: the member answers alone, nothing is marked by hand")
    parser.add_argument("--aloud", action="store_true", help="speak the questions where the machine has a synthesiser")
    parser.add_argument("--typed", action="store_true", help="answers are typed; no microphone needed")
    parser.add_argument("--device", metavar="NAME", help="which microphone (see coach devices)")
    parser.add_argument("--listener", metavar="NAME", help="which listener hears")
    parser.add_argument("--recording", metavar="FILE", help="one recording (or words) of a whole interview")
    parser.add_argument("--asked", metavar="FILE", help="the ids of the questions in it, in order, one a line")
    parser.add_argument("--group", metavar="NAMES", help="several members in turn: names with commas between")
    parser.add_argument("--same", action="store_true", help="everybody in the group gets the same questions")
    parser.add_argument("--show-all", action="store_true", help="show everybody's points and mistakes to the group")
    parser.add_argument("--sheets", metavar="FOLDER", help="in a group: write one page a member into this folder")
    parser.add_argument("--json", metavar="OUT", help="write the result as JSON")
    parser.add_argument("--page", metavar="OUT", help="write the result as one HTML page")
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Hold the interview and print how it went."""
    from coach.interview.prepare import open_pool

    _check(args)
    pool = open_pool(args.bird, args.card, args.questions_file)
    if args.recording:
        return _from_recording(args, pool)
    return _group(args, pool) if args.group else _live(args, pool)


def _check(args: argparse.Namespace) -> None:
    """Stop before the first question when the command cannot end well."""
    from coach.report.files import check_place

    if args.bird is None and not args.group:
        raise CoachError("--bird is missing: name the member's bird file, or interview a --group")
    if bool(args.recording) != bool(args.asked):
        raise CoachError("--recording and --asked belong together: the sound, and the ids of the questions in it")
    if args.group and (args.recording or args.alone or args.page or args.json):
        raise CoachError("--group goes with a leader at the keyboard, and --sheets FOLDER in place of --page and --json")
    if args.sheets and not args.group:
        raise CoachError("--sheets belongs to --group; use --page for one member")
    if args.sheets and not Path(args.sheets).is_dir():
        raise CoachError(f"{args.sheets}: no such folder; make it first")
    for out in (args.json, args.page):
        if out is not None:
            check_place(Path(out))


# --- one member -----------------------------------------------------------------------------------------------------


def _live(args: argparse.Namespace, pool: Pool) -> int:
    from coach.interview.choose import choose
    from coach.interview.prepare import parse_topics
    from coach.interview.run import hold

    seed = _seed(args)
    fitting = pool.fitting(args.level, parse_topics(args.topics))
    questions = choose(fitting, args.questions, seed, _past(args.member), level=args.level)
    print(f"{len(questions)} questions, {args.level}; the same again with --seed {seed}", file=sys.stderr)
    interview = _begin(args, pool, seed, len(questions), args.member)
    folder = _folder(args, interview)
    listener = _listener(args)
    interview = replace(interview, listener=listener.name if listener else "typed")
    desk = _desk(args, pool, folder, listener)
    limit = args.minutes if args.minutes is not None else None if args.typed else MINUTES
    done = hold(interview, questions, desk, _judge(pool, listener), _saver(folder, pool), limit_s=60 * limit if limit else None)
    return _tell(args, pool, done, lambda: folder)


def _begin(args: argparse.Namespace, pool: Pool, seed: int, asked: int, member: str | None) -> Interview:
    from coach.interview.model import Interview

    bird, card = pool.bird, pool.card
    breed = " ".join(p for p in (card.variety, card.breed) if p) if card else ""
    return Interview(
        when=datetime.now().astimezone(),
        member=member,
        bird=bird.id if bird else "",
        bird_name=bird.name if bird else "",
        card=card.id if card else "",
        breed=breed,
        level=args.level,
        listener="typed",
        seed=seed,
        asked=asked,
    )


def _folder(args: argparse.Namespace, interview: Interview) -> Path:
    from coach.interview.store import new_folder

    name = _slug(interview.member) if args.group and interview.member else interview.bird or "interview"
    return new_folder(interview.when, name)


def _desk(args: argparse.Namespace, pool: Pool, folder: Path, listener: Listener | None) -> SpokenDesk | TypedDesk:
    from coach.interview.desk import SpokenDesk, TypedDesk

    screen = _screen(args, pool)
    if listener is None:
        return TypedDesk(screen)
    from coach.live.capture import open_capture

    return SpokenDesk(screen, folder, listener, lambda path: open_capture(args.device, path))


def _screen(args: argparse.Namespace, pool: Pool) -> Screen:
    from coach.interview.desk import Screen
    from coach.interview.speak import NO_VOICE, find_voice

    voice = find_voice() if args.aloud else None
    if args.aloud and voice is None:
        print(f"coach: {NO_VOICE}", file=sys.stderr)
    return Screen(
        sys.stdout, sys.stdin, pool.bank, width=min(width(), 100), color=color_wanted(), leads=not args.alone,
        hides=bool(args.group) and not args.show_all, voice=voice,
    )  # fmt: skip


def _listener(args: argparse.Namespace) -> Listener | None:
    if args.typed:
        return None
    from coach.live.devices import find_device
    from coach.review import open_listener

    find_device(args.device)  # says what to do where there is no microphone, before anything is loaded
    return open_listener(args.listener)


def _judge(pool: Pool, listener: Listener | None) -> Callable[[Question, TimedWords], tuple[TimedWords, Score]]:
    from coach.interview.hear import judge_answer, make_ear

    ear = make_ear(pool.bank, pool.card.sounds_like if pool.card else None)
    return lambda question, words: judge_answer(question, words, ear, listener if words.timed else None)


def _saver(folder: Path, pool: Pool) -> Callable[[Interview], None]:
    """Keeps the interview after every answer. A disk that takes no more is told once and ends no interview: the result is
    printed at the end, and keeping is tried again then."""
    from coach.cli.result import tell

    told = False

    def save(interview: Interview) -> None:
        nonlocal told
        try:
            _save(folder, pool, interview)
        except CoachError as err:
            if not told:
                told = True
                tell(err)

    return save


def _save(folder: Path, pool: Pool, interview: Interview) -> None:
    from coach.interview.json_file import to_dict
    from coach.interview.store import save

    save(folder, to_dict(interview, pool.bank))


def _record(interview: Interview, member: str | None) -> None:
    """Into the history, where what was missed leans the next choice."""
    from coach.history.records import record_interview
    from coach.interview.json_file import to_history

    record_interview(to_history(interview), member=member)


def _past(member: str | None) -> tuple[PastAnswer, ...]:
    from coach.cli.result import tell
    from coach.history.records import past_answers
    from coach.interview.choose import PastAnswer

    if member is not None:
        _slug(member)  # a name that nobody can have is told before the first question
    try:
        found = past_answers(member)
    except CoachError as err:  # an interview can be held without a history
        tell(err)
        return ()
    return tuple(PastAnswer(p.answer.question_id, p.when, p.answer.share) for p in found)


def _tell(args: argparse.Namespace, pool: Pool, interview: Interview, folder: Callable[[], Path]) -> int:
    """Print how it went, then keep it and write what was asked for; the exit status."""
    from coach.cli.result import result_first
    from coach.interview.page import write_page
    from coach.interview.terminal import render

    def keep() -> None:
        place = folder()
        _save(place, pool, interview)
        print(f"kept in {place}", file=sys.stderr)

    after: list[Callable[[], object]] = []
    if args.json is not None:
        after.append(partial(_write_json, pool, interview, Path(args.json)))
    if args.page is not None:
        after.append(partial(write_page, interview, pool.bank, Path(args.page)))
    text = "\n" + render(interview, pool.bank, width=width(), color=color_wanted())
    return result_first(text, *after, keep, partial(_record, interview, args.member))


def _write_json(pool: Pool, interview: Interview, path: Path) -> None:
    import json

    from coach.interview.json_file import to_dict
    from coach.report.files import write_whole

    write_whole(json.dumps(to_dict(interview, pool.bank), indent=1, ensure_ascii=False) + "\n", path)


# --- a whole interview in one recording -----------------------------------------------------------------------------


def _from_recording(args: argparse.Namespace, pool: Pool) -> int:
    from coach.interview.from_recording import score_recording
    from coach.interview.model import Kind
    from coach.interview.prepare import read_asked

    asked = Path(args.asked)
    questions = pool.named(read_asked(asked), str(asked))
    interview = _begin(args, pool, 0, len(questions), args.member)
    with progress_bar() as progress:
        done = score_recording(interview, Path(args.recording), questions, pool, args.listener, progress)
    for question, answer in zip(questions, done.answers, strict=True):
        if not answer.words and answer.score.kind is Kind.SKIPPED:
            print(
                f"coach: {args.recording}: the question {question.id!r} was not found; was it asked in other words?",
                file=sys.stderr,
            )
    return _tell(args, pool, done, partial(_folder, args, done))


# --- a group --------------------------------------------------------------------------------------------------------


def _group(args: argparse.Namespace, pool: Pool) -> int:
    from coach.cli.result import result_first
    from coach.interview.choose import choose
    from coach.interview.group import deal, member_names, table
    from coach.interview.page import write_page
    from coach.interview.prepare import parse_topics
    from coach.interview.terminal import render_table

    members = member_names(args.group)
    seed = _seed(args)
    wanted = args.questions if args.same else args.questions * len(members)
    fitting = pool.fitting(args.level, parse_topics(args.topics))
    turns = deal(members, choose(fitting, wanted, seed, level=args.level), args.questions, seed, same=args.same)
    print(f"{len(members)} members, {args.questions} questions each; the same again with --seed {seed}", file=sys.stderr)
    held = _hold_group(args, pool, members, turns, seed)
    done = [interview for interview, _ in held]
    text = "\n" + render_table(table(done, show_all=args.show_all), width=width(), color=color_wanted())
    if not args.show_all:
        text += "Points and mistakes stay with each member. --sheets FOLDER writes a page for each.\n"
    after: list[Callable[[], object]] = [partial(_save, folder, pool, interview) for interview, folder in held]
    after += [partial(_record, interview, interview.member) for interview in done]
    if args.sheets:
        after += [partial(write_page, i, pool.bank, Path(args.sheets) / f"{_slug(i.member or 'member')}.html") for i in done]
    return result_first(text, *after)


def _hold_group(args: argparse.Namespace, pool: Pool, members: Sequence[str], turns, seed: int) -> list[tuple[Interview, Path]]:  # type: ignore[no-untyped-def]
    from coach.cli.result import tell
    from coach.interview.run import hold

    listener = _listener(args)
    judge = _judge(pool, listener)
    begun = {m: _begin(args, pool, seed, args.questions, m) for m in members}
    folders = {m: _folder(args, i) for m, i in begun.items()}
    held = {m: replace(i, listener=listener.name if listener else "typed") for m, i in begun.items()}
    limit = args.minutes if args.minutes is not None else None if args.typed else MINUTES
    each_s = 60 * limit / args.questions if limit else None
    for turn in turns:
        member, folder = turn.member, folders[turn.member]
        print(f"\nRound {turn.round}: {member}")
        before_s = held[member].seconds
        desk = _desk(args, pool, folder, listener)
        asked = replace(held[member], ended_early=None)
        try:
            one = hold(asked, [turn.question], desk, judge, _saver(folder, pool), limit_s=each_s)
        except CoachError as err:  # this member said nothing yet; what the others answered is told
            if not any(i.answers for i in held.values()):
                raise
            tell(err)
            break
        held[member] = replace(one, seconds=round(before_s + one.seconds, 2))
        if one.ended_early:
            print(f"coach: {one.ended_early}; what was answered is kept", file=sys.stderr)
            break
    return [(held[m], folders[m]) for m in members]


def _seed(args: argparse.Namespace) -> int:
    import secrets

    return int(args.seed) if args.seed is not None else secrets.randbelow(10_000)


def _slug(name: str) -> str:
    from coach.history.members import member_slug

    return member_slug(name)


def _count(text: str) -> int:
    if not text.isdigit() or not 1 <= int(text) <= 100:
        raise argparse.ArgumentTypeError(f"{text!r} is no number of questions from 1 to 100")
    return int(text)


def _minutes(text: str) -> float:
    try:
        minutes = float(text)
    except ValueError:
        minutes = 0.0
    if not 0.5 <= minutes <= 60:
        raise argparse.ArgumentTypeError(f"{text!r} is no number of minutes from 0.5 to 60")
    return minutes
