"""A plan that one of the dealer's people sent, in its owner's conversation: an ordinary open plan with its steps."""

from datetime import datetime, timedelta

from pydantic import JsonValue

from bot.model.fact import PlanClosed, PlanIssued, PlanSent, ReadingTaken
from bot.schedule.journal import facts
from bot.talk.card import first_name
from bot.talk.flow import Flow, Keep, Live, Next, Say, Start, Tell, flow
from bot.talk.flows.carry_out import PLAN, issue
from bot.talk.flows.dose_step import UnderWay
from bot.talk.flows.dosing_round import dosing_round
from bot.talk.flows.pads import READINGS
from bot.talk.flows.walk_plan import Goes, Lacking, close, doable, walk
from bot.talk.names import product_name
from bot.talk.words import line, lines, verbatim
from dosing import limits_for


@flow("sent_plan")
def sent_plan(start: Start) -> Flow:
    """Args: `plan`, the key of a plan that was sent."""
    key = str(start.args["plan"])
    sent = yield Keep("sent", lambda live: _sent(live, start, key))
    if not isinstance(sent, dict):
        yield Say(line("sent_plan.gone"))
        return None
    plan, holder = PLAN.validate_python(sent["plan"]), verbatim(str(sent["name"]))
    yield from issue("", PlanIssued(plan_key=key, plan=plan, reading=sent["reading"], by=str(sent["by"])))
    steps = sum(step.action != "wait" for step in doable(plan))
    yield Say(lines(line("sent_plan.from", count=steps, holder=holder)))
    until = datetime.fromisoformat(str(sent["until"]))
    kit = (start.tub.kit if start.tub else None) or start.dealer.kit
    under_way = UnderWay(start, "p.", key, kit, READINGS.validate_python(sent["values"]), until)
    ended = yield from walk(under_way, plan)
    if isinstance(ended, Lacking):
        yield from close("p.lacks.", key, "abandoned")
        if sent["here"]:
            told = line("case.lacks", name=start.person.name, product=product_name(ended.product))
            yield Tell("lacks", str(sent["by"]), told)
        yield Say(line("sent_plan.lacks_told", holder=holder))
        return None
    if ended == Goes("correct"):
        yield from close("p.wrong.", key, "abandoned")
        return Next("weekly_test")
    if ended == Goes("test"):
        yield from dosing_round(start, prefix="after.", extra=(), after_dose=True)
    return None


def _sent(live: Live, start: Start, key: str) -> JsonValue:
    """The plan of that key, while its test counts and it was not given up or replaced."""
    found = [fact for _, fact in facts(live.journal, PlanSent) if fact.to == start.person.key]
    sent = next((fact for fact in found if fact.plan_key == key), None)
    if sent is None or sent != found[-1] or facts(live.journal, PlanClosed, lambda fact: fact.plan_key == key):
        return None
    test = next((entry for entry in live.journal if entry.key == sent.reading), None)
    if test is None or not isinstance(test.fact, ReadingTaken):
        return None
    holder = next((person for person in live.known.staff if person.key == sent.by), None)
    until = test.at + timedelta(hours=limits_for(start.dealer.locale).reading_hours)
    return {
        "plan": PLAN.dump_python(sent.plan, mode="json"),
        "reading": sent.reading,
        "by": sent.by,
        "here": holder is not None,
        "name": first_name(holder) if holder else start.dealer.name,
        "values": READINGS.dump_python(dict(test.fact.values), mode="json"),
        "until": until.isoformat(),
    }
