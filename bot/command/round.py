"""`brimful round`: messages to many owners, from the command line. A service that runs beside it does the sending."""

import argparse
import asyncio
import secrets
import sys
from collections.abc import Awaitable, Callable, Sequence
from datetime import datetime, time
from pathlib import Path

from bot.app import open_store
from bot.command.dealer import read_dealers
from bot.desk.rounds import letter
from bot.desk.rounds.manners import delayed
from bot.desk.rounds.telling import progress, reasons, silent_rows, table
from bot.desk.rounds.whom import CRITERIA, read_whom, write_whom
from bot.model.dealer import Dealer
from bot.model.fact import Entry
from bot.model.round import Round, RoundOrder, RoundView, Timing
from bot.model.trail import RoundOrdered
from bot.run.clock import WallClock
from bot.run.rounds import Rounds
from bot.settings import BadSettings, Settings
from bot.store.contract import Contradiction, Store, StoreBroken
from bot.talk.words import Words, languages

WORDS = Words("en")
LATER: tuple[RoundOrder, ...] = ("pause", "resume", "cancel")


def main(argv: Sequence[str]) -> int:
    """Do one thing with rounds. 0 when it is done, 2 where something is wrong with what was asked."""
    options = _parser().parse_args(argv)
    try:
        return asyncio.run(_run(options, Settings.read()))
    except (BadSettings, ValueError, StoreBroken, Contradiction) as wrong:
        print(f"brimful round: {wrong}", file=sys.stderr)
        return 2


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(prog="brimful round", description="One message to many owners.")
    parser.add_argument("--dealer", help="key of the dealer, where there are several")
    todo = parser.add_subparsers(dest="todo", required=True, metavar="COMMAND")
    whom = f"criteria with commas between, several values of one with | between: {', '.join(CRITERIA)}"
    count = todo.add_parser("count", help="how many owners that would be, and some of them")
    count.add_argument("whom", help=whom)
    new = todo.add_parser("new", help="write a round and see it as it would arrive; nothing is sent yet")
    new.add_argument("whom", help=whom)
    new.add_argument(
        "--text",
        action="append",
        required=True,
        metavar="LANG=FILE",
        help="the message in a language, from a file (- is standard input); {name}, {tub} and {due} are filled in. "
        "The first one is for those whose language has none",
    )
    new.add_argument("--kind", choices=("reminder", "safety", "recall"), default="reminder")
    new.add_argument("--per", choices=("person", "tub"), default="person", help="tub: one of those who share a tub")
    new.add_argument(
        "--when", default="now", help="now; a time such as 10:00 or 2027-03-02T10:00 in each owner's zone; over 6h"
    )
    start = todo.add_parser("start", help="send a round that was written")
    start.add_argument("key")
    start.add_argument("--number", type=int, help="how many get it, to be sure; needed when they are many")
    todo.add_parser("list", help="the newest rounds")
    for name, what in (
        ("show", "how far a round has come"),
        ("pause", "send no more of a round for now"),
        ("resume", "go on with a paused round"),
        ("cancel", "send no more of a round at all"),
    ):
        todo.add_parser(name, help=what).add_argument("key")
    report = todo.add_parser("report", help="what a round came to for each owner, as CSV")
    report.add_argument("key")
    report.add_argument("--csv", type=Path, help="file to write (default: standard output)")
    report.add_argument("--silent", action="store_true", help="only those who have not answered it")
    return parser


async def _run(options: argparse.Namespace, settings: Settings) -> int:
    wanted = _which(read_dealers(settings.dealer), options.dealer)
    store = open_store(settings.database)
    await store.open()
    try:
        dealer = next((one for one in await store.dealers() if one.key == wanted.key), None)
        if dealer is None:
            raise ValueError(f"the database knows no dealer {wanted.key!r} yet; start `brimful serve` once, or invite")
        return await _TODO[options.todo](options, store, dealer)
    finally:
        await store.close()


def _which(dealers: Sequence[tuple[Path | None, Dealer]], key: str | None) -> Dealer:
    """The dealer that is meant: the one of that key, or the only one there is."""
    found = [dealer for _, dealer in dealers if key in (None, dealer.key)]
    if len(found) != 1:
        keys = ", ".join(dealer.key for _, dealer in dealers)
        raise ValueError(f"say for which dealer with --dealer before the command; there is {keys}")
    return found[0]


async def _count(options: argparse.Namespace, store: Store, dealer: Dealer) -> int:
    whom = read_whom(options.whom)
    view = await _written(store, dealer, Round(key=_new_key(), dealer=dealer.key, by=None, whom=whom, made_at=_now()))
    _print_choice(view)
    await store.order_round(dealer.key, view.round.key, "discard", _now())
    return 0


async def _new(options: argparse.Namespace, store: Store, dealer: Dealer) -> int:
    whom = read_whom(options.whom)
    texts = dict(_text(one) for one in options.text)
    for language, text in texts.items():
        if (wrong := letter.fault(text, whom)) is not None:
            raise ValueError(f"--text {language}: {WORDS.text(wrong)}")
    round_ = Round(
        key=_new_key(),
        dealer=dealer.key,
        by=None,
        kind=options.kind,
        whom=whom,
        per=options.per,
        texts=texts,
        language=next(iter(texts)),
        timing=_timing(options.when),
        made_at=_now(),
    )
    view = await _written(store, dealer, round_)
    _print_choice(view)
    for candidate in view.examples:
        message = letter.letter(view.round, candidate, dealer)
        print(f"\n--- to {candidate.person.name or candidate.person.key} ({candidate.person.language})")
        print(message.text)
        print(" ".join(f"[{button.label}]" for row in message.buttons for button in row))
    number = f" --number {view.reaches}" if view.reaches >= dealer.bulk.confirm_from else ""
    print(f"\nNothing is sent yet. To send it: brimful round start {round_.key}{number}")
    return 0


async def _written(store: Store, dealer: Dealer, round_: Round) -> RoundView:
    """Put a round into the store and choose whom it is for."""
    await store.put_round(round_)
    await Rounds(store).choose(round_, dealer, _now())
    return await _view(store, dealer, round_.key)


async def _view(store: Store, dealer: Dealer, key: str) -> RoundView:
    view = await store.round_view(dealer.key, key)
    if view is None:
        raise ValueError(f"there is no round {key!r}; `brimful round list` shows them")
    return view


def _print_choice(view: RoundView) -> None:
    print(f"{write_whom(view.round.whom)}: {view.reaches} of {view.total} chosen owners get it")
    if (why := reasons(view.reasons)) is not None:
        print(WORDS.text(why))
    later = list(delayed(view.round, view.places, _now()))
    for zone_name, at, count in later[:5]:
        print(f"in quiet hours, later: {count} at {at:%Y-%m-%d %H:%M} UTC ({zone_name})")
    for language, count in sorted(view.languages.items()):
        print(f"language {language}: {count}{_fallback(view.round, language)}")
    names = [candidate.person.name or candidate.person.key for candidate in view.examples]
    if names:
        print(f"for example: {', '.join(names)}")


def _fallback(round_: Round, language: str) -> str:
    if not round_.texts or language in round_.texts:
        return ""
    return f", who get it in {letter.language_of(round_.texts, language, round_.language)}"


async def _start(options: argparse.Namespace, store: Store, dealer: Dealer) -> int:
    view = await _view(store, dealer, options.key)
    if not view.round.texts:
        raise ValueError(f"round {options.key} has no text")
    if view.reaches == 0:
        raise ValueError(f"round {options.key} reaches nobody")
    if view.state == "chosen" and view.reaches >= dealer.bulk.confirm_from and options.number != view.reaches:
        raise ValueError(f"it goes to {view.reaches} owners; say so with --number {view.reaches}")
    return await _order(store, dealer, view, "start")


async def _later(options: argparse.Namespace, store: Store, dealer: Dealer) -> int:
    return await _order(store, dealer, await _view(store, dealer, options.key), options.todo)


async def _order(store: Store, dealer: Dealer, view: RoundView, order: RoundOrder) -> int:
    now = _now()
    if not await store.order_round(dealer.key, view.round.key, order, now):
        raise ValueError(f"round {view.round.key} is {view.state}; it cannot be told to {order} now")
    if order != "discard":
        fact = RoundOrdered(round=view.round.key, order=order, people=view.reaches)
        key = f"cli:{view.round.key}:{secrets.token_hex(4)}"
        await store.write([Entry(key=key, dealer=dealer.key, tub=None, person=None, at=now, via="cli", fact=fact)])
    print(WORDS.text(progress(await _view(store, dealer, view.round.key))))
    return 0


async def _list(_options: argparse.Namespace, store: Store, dealer: Dealer) -> int:
    for view in await store.rounds(dealer.key):
        print(f"{view.round.key}  {view.round.made_at:%Y-%m-%d %H:%M}  {view.state:10} {write_whom(view.round.whom)}")
    return 0


async def _show(options: argparse.Namespace, store: Store, dealer: Dealer) -> int:
    print(WORDS.text(progress(await _view(store, dealer, options.key))))
    return 0


async def _report(options: argparse.Namespace, store: Store, dealer: Dealer) -> int:
    view = await _view(store, dealer, options.key)
    rows = await Rounds(store).rows(view.round)
    content = table(silent_rows(rows) if options.silent else rows, WORDS)
    if options.csv:
        options.csv.write_bytes(content)
    else:
        sys.stdout.write(content.decode("utf-8-sig"))
    return 0


def _text(said: str) -> tuple[str, str]:
    language, sign, place = said.partition("=")
    if not sign or language not in languages():
        raise ValueError(f"--text {said}: write it as LANG=FILE, with a language of {', '.join(languages())}")
    try:
        return language, (sys.stdin.read() if place == "-" else Path(place).read_text(encoding="utf-8")).strip()
    except (OSError, UnicodeDecodeError):
        raise ValueError(f"{place} cannot be read; give the path of a text file in UTF-8") from None


def _timing(said: str) -> Timing:
    word = said.strip().lower()
    if word == "now":
        return Timing()
    try:
        if word.startswith("over "):
            return Timing(how="spread", hours=float(word.removeprefix("over ").removesuffix("h")))
        if "t" in word:
            moment = datetime.fromisoformat(word)
            return Timing(how="local", day=moment.date(), clock=moment.time())
        return Timing(how="local", clock=time.fromisoformat(word))
    except ValueError:
        raise ValueError(f"--when {said}: write now, 10:00, 2027-03-02T10:00 or `over 6h` (240 at most)") from None


def _now() -> datetime:
    return WallClock().now()


def _new_key() -> str:
    return "r" + secrets.token_hex(4)


_TODO: dict[str, Callable[[argparse.Namespace, Store, Dealer], Awaitable[int]]] = {
    "count": _count,
    "new": _new,
    "start": _start,
    "list": _list,
    "show": _show,
    "report": _report,
    **dict.fromkeys(LATER, _later),
}
