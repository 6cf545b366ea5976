"""What the dealer is told of a round: how far it has come, what it came to, and the lists that are left over."""

from collections.abc import Iterable, Mapping, Sequence
from typing import get_args

from bot.desk.leaving import csv_of
from bot.model.enclosure import Sheet
from bot.model.message import Button, Message
from bot.model.person import Person
from bot.model.round import RoundRow, RoundView, RowState
from bot.talk.buttons import RoundButton, encode
from bot.talk.words import Line, Words, line, lines

SHOWN: tuple[RowState, ...] = get_args(RowState)
BUTTONS = {
    "running": ("pause", "cancel"),
    "paused": ("resume", "cancel"),
    "done": ("report",),
    "cancelled": ("report",),
}
UNREACHED: tuple[RowState, ...] = ("blocked", "failed", "unclear")
NO_CHAT = ("blocked", "no_chat", "stopped", "not_agreed")
"""Why somebody was left out whom a call or a letter may reach; those who are away or heard of it lately are not called.
"""


def progress(view: RoundView) -> Line:
    """How far a round has come: a line for each number that is not zero."""
    counts = tuple(
        line(f"bulk.count.{state}", number=number) for state in SHOWN if (number := view.counts.get(state, 0))
    )
    answers = tuple(line(f"bulk.answered.{name}", number=number) for name, number in sorted(view.answers.items()))
    silent = line("bulk.silent", number=silent_of(view)) if view.round.kind == "recall" else None
    head = line(f"bulk.state.{view.state}", round=view.round.key, total=view.total)
    return lines(head, lines(*counts, reasons(view.reasons), *answers, silent, gap="\n") if view.total else None)


def reasons(left_out: Mapping[str, int]) -> Line | None:
    """Why people are left out, each reason with its number."""
    if not left_out:
        return None
    said = tuple(line(f"bulk.why.{why}", number=number) for why, number in sorted(left_out.items()))
    return line("bulk.whys", whys=said)


def silent_of(view: RoundView) -> int:
    """How many a recall reached who have not said that they read it."""
    return max(0, view.counts.get("delivered", 0) + view.counts.get("unclear", 0) - sum(view.answers.values()))


def live_message(view: RoundView, reader: Person) -> Message:
    """The message in which a round's progress is shown; the next one takes its place."""
    words = Words.of(reader)
    buttons = tuple(
        Button(label=words.text(line(f"bulk.order.{name}")), data=encode(RoundButton(view.round.key, name)))
        for name in BUTTONS.get(view.state, ())
    )
    text = words.text(progress(view))
    return Message(to=reader.key, text=text, buttons=(buttons,) if buttons else (), live=f"round.{view.round.key}")


def reports(view: RoundView, rows: Sequence[RoundRow], reader: Person) -> list[Message]:
    """What a round came to, with its table; of one that asks to be read also those who have not said so."""
    words = Words.of(reader)
    silent = silent_rows(rows) if view.round.kind != "reminder" else []
    messages = [_report(view, rows, words, reader)]
    if silent:
        sheet = Sheet(name=f"round-{view.round.key}-silent.csv", content=_text(silent, words))
        said = words.text(line("bulk.report.silent", count=len(silent)))
        messages.append(Message(to=reader.key, text=said, enclosure=sheet, unmade=words.text(line("enclosure.unmade"))))
    return messages


def _report(view: RoundView, rows: Sequence[RoundRow], words: Words, reader: Person) -> Message:
    sheet = Sheet(name=f"round-{view.round.key}.csv", content=_text(rows, words))
    to_phone = sum(view.counts.get(state, 0) for state in UNREACHED)
    to_phone += sum(view.reasons.get(why, 0) for why in NO_CHAT)
    said = lines(line("bulk.report"), line("bulk.report.phone", count=to_phone) if to_phone else None)
    return Message(to=reader.key, text=words.text(said), enclosure=sheet, unmade=words.text(line("enclosure.unmade")))


def _text(rows: Iterable[RoundRow], words: Words) -> str:
    return table(rows, words).decode("utf-8-sig")


def table(rows: Iterable[RoundRow], words: Words) -> bytes:
    """What became of each owner, as CSV that a spreadsheet opens without harm. The last column says whom to phone."""
    titles = ("name", "tub", "language", "phone", "email", "state", "why", "time", "answer", "answered", "to_phone")
    return csv_of(
        [words.text(line(f"bulk.column.{title}")) for title in titles],
        (_cells(row, words) for row in rows),
    )


def silent_rows(rows: Iterable[RoundRow]) -> list[RoundRow]:
    """Those whom a round was for and who have not answered it, reached or not."""
    return [row for row in rows if row.answer is None and row.state not in ("waiting", "queued", "cancelled")]


def _cells(row: RoundRow, words: Words) -> list[str | None]:
    left_out = row.state == "left_out"
    phone = row.state in UNREACHED or (left_out and row.why in NO_CHAT) or row.answer == "call"
    return [
        row.name,
        row.tub_name or row.tub,
        row.language,
        row.phone,
        row.email,
        words.text(line(f"bulk.row.{row.state}")),
        words.text(line(f"bulk.because.{row.why}")) if left_out else row.why,
        row.at.astimezone(words.zone).strftime("%Y-%m-%d %H:%M") if row.at else None,
        words.text(line(f"bulk.said.{row.answer}")) if row.answer else None,
        row.answered_at.astimezone(words.zone).strftime("%Y-%m-%d %H:%M") if row.answered_at else None,
        words.text(line("yes")) if phone else "",
    ]
