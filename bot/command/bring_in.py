"""`brimful import`: bring owners in from a spreadsheet, after a look at how it was understood."""

import argparse
import asyncio
import sys
from collections.abc import Iterator, Sequence
from pathlib import Path

from bot.command.books import opened
from bot.desk.intake.columns import FIELDS, bare
from bot.desk.intake.sheet import Choices, Question
from bot.desk.intake.table import MOST_BYTES, Unreadable
from bot.desk.leaving import csv_of
from bot.run.clock import WallClock
from bot.run.intake import Looked, bring_in, look
from bot.settings import BadSettings, Settings
from bot.store.contract import Conflict, StoreBroken
from bot.talk.sheets import field_name, remark_line, unreadable, what_is_wrong
from bot.talk.words import Words, line

WORDS = Words("en")
SEPARATORS = {";": "semicolons", ",": "commas", "\t": "tabs", "|": "bars"}
SHOWN = 40
"""Remarks printed; all of them go into the file of --remarks."""


def main(argv: Sequence[str]) -> int:
    """Show what a sheet would change, and change it when told to. 0; 1 if it was not confirmed, 2 for bad input."""
    options = _parser().parse_args(argv)
    try:
        return asyncio.run(_run(options, Settings.read()))
    except Unreadable as wrong:
        print(f"brimful import: {options.file}: {WORDS.text(unreadable(wrong.code, wrong.values))}", file=sys.stderr)
    except (BadSettings, ValueError, OSError, StoreBroken, Conflict) as wrong:
        print(f"brimful import: {wrong}", file=sys.stderr)
    return 2


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="brimful import",
        description="Bring owners in from a spreadsheet (CSV or XLSX). Shows first how it is understood and what it "
        "would change, then asks. Bringing the same sheet in again changes nothing twice.",
    )
    parser.add_argument("file", type=Path, help="the spreadsheet")
    parser.add_argument("--dry-run", action="store_true", help="show it only, change nothing")
    parser.add_argument("--yes", action="store_true", help="don't ask, bring them in")
    parser.add_argument(
        "--column",
        action="append",
        default=[],
        metavar="TITLE=FIELD",
        help=f"what a column holds, by its title or letter: {', '.join(FIELDS)}; nothing after = leaves it out",
    )
    parser.add_argument("--unit", choices=("litres", "usgal", "impgal"), help="what volumes without a unit are")
    parser.add_argument("--dates", choices=("day-first", "month-first"), help="how 03/04/2027 is to be read")
    parser.add_argument("--country", default="", help="where phone numbers are of, such as DE (default: the dealer's)")
    parser.add_argument(
        "--model", action="append", default=[], metavar="SPELLING=MODEL", help="the same model by two names"
    )
    parser.add_argument(
        "--sheet", default="", help="which sheet of a workbook (default: the first that holds anything)"
    )
    parser.add_argument("--encoding", default="", help="how a CSV file is written, where it is not found rightly")
    parser.add_argument("--remarks", type=Path, metavar="CSV", help="write all remarks into this file")
    return parser


def _choices(options: argparse.Namespace) -> Choices:
    columns = {}
    for given in options.column:
        title, equals, means = given.partition("=")
        if not equals or (means and means not in FIELDS):
            raise ValueError(f"--column {given!r}: write TITLE=FIELD, with one of {', '.join(FIELDS)} or nothing")
        columns[bare(title)] = means
    models = dict(given.partition("=")[::2] for given in options.model)
    if not all(models.values()):
        raise ValueError("--model: write SPELLING=MODEL, such as --model 'Mod. A-5=Model A5'")
    country = options.country.upper()
    if country and not (len(country) == 2 and country.isascii() and country.isalpha()):
        raise ValueError(f"--country {options.country!r}: write two letters, such as DE or US")
    dates = options.dates.replace("-", "_") if options.dates else None
    return Choices(
        columns=columns,
        unit=options.unit,
        dates=dates,
        country=country,
        models=models,
        encoding=options.encoding,
        sheet=options.sheet,
    )


def _content(path: Path) -> bytes:
    try:
        size = path.stat().st_size
        if size > MOST_BYTES:
            raise Unreadable("too_many_bytes", most=MOST_BYTES // 1_000_000)
        return path.read_bytes()
    except OSError:
        raise ValueError(f"{path} cannot be read; give the path of a CSV or XLSX file") from None


async def _run(options: argparse.Namespace, settings: Settings) -> int:
    choices, content, now = _choices(options), _content(options.file), WallClock().now()
    async with opened(settings) as (store, dealer):
        looked = await look(store, dealer, content, choices, now)
        print("\n".join(preview(looked, options.file.name)))
        if options.remarks:
            options.remarks.write_bytes(remarks_csv(looked))
            print(f"all remarks: {options.remarks}")
        if options.dry_run or not looked.bringing.changes:
            print("Nothing was changed." if options.dry_run else "There is nothing to change.")
            return 0
        if not options.yes and not _agreed(len(looked.bringing.changes)):
            print("Nothing was changed; --yes brings them in.")
            return 1
        await bring_in(store, dealer, content, choices, now, by=None, via="command", file=options.file.name)
        print("Done. `brimful invites print` makes the cards to put in the delivery folders.")
        return 0


def _agreed(count: int) -> bool:
    if not sys.stdin.isatty():
        return False
    return input(f"Bring {count} owner{'s' * (count != 1)} in? [y/N] ").strip().lower() in ("y", "yes")


def preview(looked: Looked, name: str) -> Iterator[str]:
    """How a sheet was understood, what it leaves open, what it would change, and what is wrong in it."""
    table, sheet, bringing = looked.table, looked.sheet, looked.bringing
    how = f"CSV, {table.encoding}" + ("" if table.certain else " (the likeliest; --encoding says otherwise)")
    if table.sheet:
        how = f"sheet {table.sheet}" + (f" of {len(table.sheets)} (--sheet chooses)" if len(table.sheets) > 1 else "")
    elif table.separator:
        how += f", {SEPARATORS.get(table.separator, table.separator)} between the cells"
    titles = f"titles on line {sheet.head.line}" if sheet.head.line else "no titles found: columns by what they hold"
    country = sheet.choices.country or "no country (--country sets one)"
    yield f"{name}: {how}; {titles}; phone numbers without a country code: {country}"
    if looked.remembered:
        yield "read as the last sheet with these titles was"
    yield ""
    width = max((len(column.title) for column in sheet.head.columns), default=0)
    for column in sheet.head.columns:
        means = WORDS.text(field_name(column.means))
        yield f"  {column.letter:>2}  {column.title:{width}}  {means:16} {' | '.join(column.examples)[:70]}".rstrip()
    yield ""
    yield from map(_question, sheet.questions)
    yield from _counts(looked)
    for remark in bringing.remarks[:SHOWN]:
        yield "  " + WORDS.text(remark_line(remark.line, remark.column, remark.code, remark.values))
    if len(bringing.remarks) > SHOWN:
        yield f"  and {len(bringing.remarks) - SHOWN} more; --remarks FILE.csv writes all"
    for remark in sheet.skipped[:SHOWN]:
        yield f"  Line {remark.line} skipped: {WORDS.text(line(f'intake.skipped.{remark.code}'))}"


def _question(question: Question) -> str:
    examples = ", ".join(question.examples)
    match question.about:
        case "unit":
            return f"To decide: {question.column} holds {examples} without a unit; --unit litres, usgal or impgal"
        case "dates":
            return f"To decide: {question.column} holds {examples}; --dates day-first or month-first"
        case "model":
            same, own = f"'{examples}={question.meant}'", f"'{examples}={examples}'"
            return f"To decide: is {examples} the same as {question.meant}? --model {same} or --model {own}"


def _counts(looked: Looked) -> Iterator[str]:
    bringing, sheet = looked.bringing, looked.sheet
    review = len({remark.line for remark in bringing.remarks if remark.weight == "review"})
    rejected = sum(remark.weight == "reject" for remark in bringing.remarks)
    yield (
        f"{looked.rows} rows: {bringing.count('new')} new, {bringing.count('changed')} changed, "
        f"{bringing.same} there already, {bringing.doubles} twice in the sheet, {rejected} not brought in; "
        f"{review} to look at; {len(sheet.skipped)} lines skipped"
    )


def remarks_csv(looked: Looked) -> bytes:
    """All remarks as a table: line, column, how much it matters, and the sentence."""
    remarks = looked.bringing.remarks
    rows = ((one.line, one.column, one.weight, WORDS.text(what_is_wrong(one.code, one.values))) for one in remarks)
    return csv_of(("line", "column", "weight", "what"), rows)
