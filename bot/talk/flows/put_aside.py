"""An owner whose pack will soon be empty is asked whether the dealer shall put one aside: once for each pack."""

from datetime import timedelta

from bot.model.fact import Added, CaseOpened, PlanClosed, ReadingTaken
from bot.model.trail import SupplySaid
from bot.schedule.cases import doses_held
from bot.schedule.journal import in_danger, last_at, open_plan
from bot.schedule.supplies import WEEK, supplies_of
from bot.talk import stack
from bot.talk.draft import Draft
from bot.talk.flow import Ask, Flow, Option, Record, Say, Start, flow
from bot.talk.names import product_name
from bot.talk.words import line

BETWEEN = timedelta(weeks=1)
"""From one offer to the next, whichever product it is about (common practice)."""
ENDS = {Added, ReadingTaken, PlanClosed}
ANSWERS = ("wanted", "more", "no")


def offer(draft: Draft) -> None:
    """Ask, where the dealer wants it, after a test or a dose has brought its conversation to an end and nothing else is
    to be said. So it is never a message that nobody asked for.
    """
    supplies, told = draft.known.dealer.supplies, {type(entry.fact) for entry in draft.entries}
    if (
        not supplies.offer
        or draft.tub is None
        or stack.top(draft)
        or not told & ENDS
        or CaseOpened in told
        or draft.unlinks
    ):
        return
    if len(draft.messages) > 1 or in_danger(draft.journal) or doses_held(draft.journal) or open_plan(draft.journal):
        return
    asked = last_at(draft.journal, SupplySaid, lambda fact: fact.what == "offered")
    if asked is not None and draft.now - asked < BETWEEN:
        return
    for supply in supplies_of(draft.tub, draft.known.dealer, draft.journal, draft.now):
        if not supply.offered and supply.runs_out <= draft.now + supplies.weeks * WEEK:
            weeks = max(1, round(supply.left / supply.a_week))
            stack.begin(draft, "put_aside", {"product": supply.product, "number": supply.number, "weeks": weeks})
            return


@flow("put_aside")
def put_aside(start: Start) -> Flow:
    """One question; whatever is answered, this pack is not asked about again."""
    args, dealer = start.args, start.dealer.name
    about = {"product": args["product"], "number": args["number"]}
    yield Record("offered", SupplySaid.model_validate({**about, "what": "offered"}))
    text = line(
        "supply.ask", count=float(str(args["weeks"])), product=product_name(str(args["product"])), dealer=dealer
    )
    said = yield Ask("supply", text, tuple(Option(name, line(f"supply.do.{name}")) for name in ANSWERS), columns=1)
    if said == "more":
        about["number"] = int(str(args["number"])) + 1
    yield Record("said", SupplySaid.model_validate({**about, "what": said}))
    yield Say(line(f"supply.{said}", dealer=dealer) if said == "wanted" else line(f"supply.{said}"))
    return None
