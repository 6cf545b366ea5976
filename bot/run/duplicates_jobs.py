"""The clerk's jobs around duplicates: the next pair that nobody has decided on, and what was decided."""

from pydantic import JsonValue

from bot.desk.duplicates import side_by_side
from bot.run.clerk import FAILED, Desk, Job
from bot.run.duplicates import find, keep_apart, make_one


async def look(desk: Desk) -> JsonValue:
    """The first pair but for those passed over, side by side, and how many there are."""
    passed = desk.errand.args.get("passed")
    pairs = await find(desk.store, desk.dealer.key)
    left = [pair for pair in pairs if not isinstance(passed, list) or pair.name not in passed]
    if not left:
        return {"left": 0}
    pair = left[0]
    rows: list[JsonValue] = [list(row) for row in side_by_side(pair)]
    people = pair.keep.person.key != pair.drop.person.key
    may = {"people": people and not pair.both_joined, "tubs": pair.tubs is not None}
    return {"left": len(left), "pair": pair.name, "why": pair.why, "rows": rows, "joined": pair.both_joined, **may}


async def decide(desk: Desk) -> JsonValue:
    """Make the named pair one (`tubs`: their tubs too), or remember that it is two."""
    named, how = desk.errand.args.get("pair"), desk.errand.args.get("how")
    pair = next((one for one in await find(desk.store, desk.dealer.key) if one.name == named), None)
    if pair is None or (pair.both_joined and how != "different"):
        return FAILED
    if how == "different":
        await keep_apart(desk.store, desk.dealer.key, pair)
        return True
    via = desk.person.address.channel if desk.person.address else ""
    done = await make_one(desk.store, desk.dealer.key, pair, desk.now, tubs=how == "both", by=desk.person.key, via=via)
    return True if done else FAILED


JOBS: dict[str, Job] = {"duplicates.look": look, "duplicates.decide": decide}
