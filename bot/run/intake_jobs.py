"""The clerk's jobs around a dealer's list: look at it, bring it in, write out what is wrong in it."""

from pydantic import JsonValue

from bot.desk.intake.columns import bare
from bot.desk.intake.sheet import Choices
from bot.desk.intake.table import MOST_BYTES, Unreadable
from bot.desk.leaving import csv_of
from bot.model.enclosure import Made
from bot.model.event import File
from bot.run.clerk import Desk, Job, hand_over
from bot.run.intake import Looked, bring_in, look
from bot.talk.sheets import what_is_wrong
from bot.talk.words import Words, line

REMARKS = 5


async def look_at(desk: Desk) -> JsonValue:
    """What a list says and would change, or why it can't be read."""
    try:
        looked = await look(desk.store, desk.dealer, await _content(desk), _choices(desk), desk.now)
    except Unreadable as wrong:
        return {"unreadable": wrong.code, "values": dict(wrong.values)}
    return _told(looked)


async def write(desk: Desk) -> JsonValue:
    """Bring a list in as it was looked at."""
    content = await _content(desk)
    looked = await bring_in(
        desk.store,
        desk.dealer,
        content,
        _choices(desk),
        desk.now,
        by=desk.person.key,
        via=desk.person.address.channel if desk.person.address else "",
        file=str(desk.errand.args.get("name", "")),
    )
    return {"new": looked.bringing.count("new"), "changed": looked.bringing.count("changed")}


async def send_remarks(desk: Desk) -> JsonValue:
    """Send all remarks as a file."""
    looked = await look(desk.store, desk.dealer, await _content(desk), _choices(desk), desk.now)
    words = Words.of(desk.person)
    titles = [words.text(line(f"import.title.{name}")) for name in ("line", "column", "what")]
    rows = ((one.line, one.column, words.text(what_is_wrong(one.code, one.values))) for one in looked.bringing.remarks)
    made = Made(form="document", name="remarks.csv", content=csv_of(titles, rows))
    return await hand_over(desk, words.text(line("import.all_remarks")), made)


async def _content(desk: Desk) -> bytes:
    """The file that was sent. Unreadable where the channel no longer has it, or it is too large."""
    file = File.model_validate(desk.errand.args["file"])
    if file.size is not None and file.size > MOST_BYTES:
        raise Unreadable("too_many_bytes", most=MOST_BYTES // 1_000_000)
    channel = desk.channels[desk.person.address.channel] if desk.person.address else None
    content = await channel.fetch(file) if channel else None
    if content is None:
        raise Unreadable("not_fetched")
    return content


def _choices(desk: Desk) -> Choices:
    return Choices.model_validate(desk.errand.args["choices"])


def _told(looked: Looked) -> JsonValue:
    table, sheet, bringing = looked.table, looked.sheet, looked.bringing
    remarks = sorted(bringing.remarks, key=lambda one: (one.weight == "note", one.line))
    return {
        "digest": looked.digest,
        "rows": looked.rows,
        "encoding": table.encoding,
        "certain": table.certain,
        "sheet": table.sheet,
        "country": sheet.choices.country,
        "columns": [
            {
                "letter": column.letter,
                "title": column.title,
                "key": bare(column.title) or column.letter.lower(),
                "means": column.means,
                "examples": [example[:40] for example in column.examples],
            }
            for column in sheet.head.columns
        ],
        "questions": [
            {"about": one.about, "column": one.column, "examples": list(one.examples), "meant": one.meant}
            for one in sheet.questions
        ],
        "new": bringing.count("new"),
        "changed": bringing.count("changed"),
        "same": bringing.same,
        "doubles": bringing.doubles,
        "rejected": sum(one.weight == "reject" for one in remarks),
        "review": len({one.line for one in remarks if one.weight == "review"}),
        "skipped": len(sheet.skipped),
        "remarked": len(remarks),
        "remarks": [
            {"line": one.line, "column": one.column, "code": one.code, "values": dict(one.values)}
            for one in remarks[:REMARKS]
        ],
    }


JOBS: dict[str, Job] = {"intake.look": look_at, "intake.write": write, "intake.remarks": send_remarks}
