"""Owners from a list that the dealer sent: how it is read, what it leaves open, what it would change, and then so."""

from collections.abc import Generator
from functools import cache
from typing import Any

from babel import Locale
from pydantic import JsonValue

from bot.talk.flow import Again, Ask, Doing, Flow, Heard, Next, Option, Say, Start, errand, flow
from bot.talk.sheets import field_name, remark_line, unreadable
from bot.talk.words import Line, languages, line, lines, verbatim

FIELDS = (
    "name", "first_name", "last_name", "phone", "email", "number", "model", "serial", "volume", "sanitizer",
    "delivered", "bought", "language", "region", "tags", "note", "none",
)  # fmt: skip
UNITS = ("litres", "usgal", "impgal", "skip")
ORDERS = ("day_first", "month_first", "skip")
SHOWN_COLUMNS = 8
SHOWN_REMARKS = 4
MOST_CHOICES = 24
CANCEL = Option("cancel", line("button.cancel"))
Look = dict[str, Any]


@flow("bring_owners")
def bring_owners(start: Start) -> Flow:
    """Args: `file`, as the channel knows it, and `name`, its file name."""
    said: dict[str, Any] = {"columns": {}, "models": {}}
    times, agreed = 0, False
    while True:
        look = yield from _look(start, said, times)
        if look is None:
            return None
        times += 1
        if not agreed:
            changed = yield from _columns(start, look, said, times)
            if changed is None:
                yield Say(line("import.cancelled"))
                return None
            if changed:
                continue
            agreed = True
        if not (yield from _decide(look, said, times)):
            break
    if (yield from _agree(start, look, said)):
        yield from _write(start, look, said)
    else:
        yield Say(line("import.cancelled"))
    return None


@flow("given_list")
def given_list(start: Start) -> Flow:
    """A list, or a file for the owner whose case this person answers. Args: those of `bring_owners`, and `case`,
    `owner` and `caption`.
    """
    name, owner = str(start.args["name"]), str(start.args["owner"])
    options = (Option("list", line("import.do.list")), Option("send", line("import.do.send")), CANCEL)
    answer = yield Ask("which", line("import.list_or_answer", file=name, name=owner), options)
    if answer == "list":
        return Next("bring_owners", {"file": start.args["file"], "name": name})
    if answer == "send":
        said: dict[str, JsonValue] = {"case": start.args["case"], "text": start.args["caption"]}
        return Next("say_dose", {**said, "files": [start.args["file"]], "edited": False})
    yield Say(line("case.nothing_sent"))
    return None


def _args(start: Start, said: dict[str, Any]) -> dict[str, JsonValue]:
    return {"file": start.args["file"], "choices": said}


def _look(start: Start, said: dict[str, Any], times: int) -> Generator[Doing, Any, Look | None]:
    look = yield errand(f"look.{times}", "intake.look", _args(start, said), line("import.reading"))
    match look:
        case {"unreadable": str(code), "values": dict(values)}:
            yield Say(unreadable(code, values))
        case dict() if "digest" in look:
            return dict(look)
        case _:
            yield Say(line("import.failed"))
    return None


def _columns(start: Start, look: Look, said: dict[str, Any], times: int) -> Generator[Doing, Any, bool | None]:
    """Whether the columns are right as they are: False if so, True if one was changed, None to leave off."""
    used = [column for column in look["columns"] if column["means"]]
    unused = tuple(verbatim(_title(column)) for column in look["columns"] if not column["means"])
    shown = [_column(column) for column in used[:SHOWN_COLUMNS]]
    country = Locale.parse(start.person.language).territories.get(look["country"])
    text = lines(
        line("import.read_as", count=look["rows"], file=str(start.args["name"]), how=_how(look)),
        lines(*shown, line("import.unused", titles=unused) if unused else None, gap="\n"),
        line("import.country", country=country) if country else None,
        line("import.columns_right"),
    )
    other = Option("country", line("import.do.country"))
    options = (Option("right", line("import.do.right")), Option("change", line("import.do.change")), other, CANCEL)
    answer = yield Ask(f"columns.{times}", text, options, name="columns")
    if answer == "country":
        asked = line("import.which_country")
        said["country"] = yield Ask(f"country.{times}", asked, (CANCEL,), reads_country, name="country")
        if said["country"] == "cancel":
            del said["country"]
        return True
    if answer != "change":
        return None if answer == "cancel" else False
    choices = look["columns"][:MOST_CHOICES]
    places = tuple(Option(str(place), verbatim(_label(column))) for place, column in enumerate(choices))
    place = yield Ask(f"column.{times}", line("import.which_column"), (*places, CANCEL), name="column")
    if place == "cancel":
        return True
    column = choices[int(str(place))]
    fields = tuple(Option(name, field_name(None if name == "none" else name)) for name in FIELDS)
    example = ", ".join(column["examples"])[:120] or "-"
    asked = line("import.which_field", title=_title(column), example=example)
    means = yield Ask(f"field.{times}", asked, fields, name="field", columns=3)
    said["columns"] = {**said["columns"], column["key"]: "" if means == "none" else str(means)}
    return True


@cache
def _countries() -> dict[str, str]:
    """Countries by their names in every language of ours, and by their two letters."""
    found: dict[str, str] = {}
    for language in languages():
        for code, name in Locale.parse(language).territories.items():
            if len(code) == 2 and code.isalpha():
                found |= {str(name).casefold(): code, code.casefold(): code}
    return found


def reads_country(text: str) -> Heard | Again:
    """A country by its name or its two letters."""
    code = _countries().get(" ".join(text.split()).casefold())
    return Heard(code) if code else Again(line("import.unknown_country"))


def _title(column: dict[str, Any]) -> str:
    return str(column["title"] or column["letter"])[:40]


def _label(column: dict[str, Any]) -> str:
    return f"{column['letter']} {column['title']}".strip()[:20]


def _column(column: dict[str, Any]) -> Line:
    example = (column["examples"] or ["-"])[0][:24]
    return line("import.column", title=_title(column), means=field_name(column["means"]), example=example)


def _how(look: Look) -> Line:
    if look["sheet"]:
        return line("import.how.sheet", sheet=look["sheet"])
    return line("import.how.csv" if look["certain"] else "import.how.likely", encoding=look["encoding"])


def _decide(look: Look, said: dict[str, Any], times: int) -> Generator[Doing, Any, bool]:
    """Ask what the list leaves open, one thing at a time. Whether anything was decided."""
    decided = False
    for number, question in enumerate(look["questions"][:12]):
        key, examples = f"q.{times}.{number}", ", ".join(question["examples"])
        match question["about"]:
            case "unit" if "unit" not in said:
                units = tuple(Option(unit, line(f"import.unit.{unit}")) for unit in UNITS)
                text = line("import.which_unit", column=question["column"], examples=examples)
                answer = yield Ask(key, text, units, name="unit")
                said["unit"] = None if answer == "skip" else answer
            case "dates" if "dates" not in said:
                orders = tuple(Option(order, line(f"import.dates.{order}")) for order in ORDERS)
                text = line("import.which_first", column=question["column"], examples=examples)
                answer = yield Ask(key, text, orders, name="dates")
                said["dates"] = None if answer == "skip" else answer
            case "model" if examples not in said["models"]:
                same = (Option("yes", line("import.do.same")), Option("no", line("import.do.other")))
                answer = yield Ask(
                    key, line("import.same_model", said=examples, model=question["meant"]), same, name="model"
                )
                said["models"] = {**said["models"], examples: question["meant"] if answer == "yes" else examples}
            case _:
                continue
        decided = True
    return decided


def _agree(start: Start, look: Look, said: dict[str, Any]) -> Generator[Doing, Any, bool]:
    """What would change, and whether it shall."""
    count = look["new"] + look["changed"]
    remarks = [remark_line(one["line"], one["column"], one["code"], one["values"]) for one in look["remarks"]]
    counts = (line(f"import.count.{name}", count=look[name]) for name in COUNTS if look[name] or name == "new")
    more = look["remarked"] - SHOWN_REMARKS
    text = lines(
        lines(*counts, gap="\n"),
        lines(*remarks[:SHOWN_REMARKS], gap="\n") if remarks else None,
        line("import.more_remarks", count=more) if more > 0 else None,
        line("import.shall_i" if count else "import.nothing_new"),
    )
    bring = (Option("bring", line("import.do.bring")),) if count else ()
    all_of_them = (Option("remarks", line("import.do.remarks")),) if look["remarked"] else ()
    answer = yield Ask("agree", text, (*bring, *all_of_them, CANCEL))
    if answer == "remarks":
        sent = yield errand("remarks", "intake.remarks", _args(start, said), line("import.writing_remarks"))
        told = line("import.remarks_sent" if sent is True else "import.remarks_not_sent")
        answer = yield Ask(
            "agree.2", lines(told, line("import.shall_i") if count else None), (*bring, CANCEL), name="agree"
        )
    return bool(answer == "bring")


COUNTS = ("new", "changed", "same", "doubles", "rejected", "review", "skipped")


def _write(start: Start, look: Look, said: dict[str, Any]) -> Generator[Doing, Any, None]:
    args = {**_args(start, said), "digest": look["digest"], "name": start.args["name"]}
    done = yield errand("write", "intake.write", args, line("import.writing"))
    match done:
        case {"new": int(new), "changed": int(changed)}:
            yield Say(line("import.done", new=new, changed=changed))
        case _:
            yield Say(line("import.failed"))
