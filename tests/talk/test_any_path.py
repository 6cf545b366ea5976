"""Whatever is read, tapped and waited for: always an answer, never a fault, and no dose but the plan's own."""

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from bot.model.fact import PlanIssued
from bot.schedule.journal import facts, open_plan, standing
from tests.talk.world import Actor, World

TEXTS = (
    "test",
    "back",
    "what's open?",
    "only half",
    "fc 10 ph 8.4 ta 240",
    "fc 0 ph 6.2 ta 0",
    "ph 74",
    "12 g",
    "foam everywhere",
    "start over",
    "rinsed the filter",
    "is it safe?",
    "hm",
)


def check(ada: Actor, world: World) -> None:
    """Every message is one that a phone can show, and every dose is a step of the plan that is open."""
    assert ada.new, "there is always an answer"
    for message in ada.new:
        assert 0 < len(message.text) <= 1500
        assert all(len(button.label) <= 40 for row in message.buttons for button in row)
    if ada.last.dose:
        found = open_plan(standing(world.journal(ada)))
        assert found
        steps = {(step.product, step.grams) for step in found[1].plan.steps}
        assert (ada.last.dose.product, ada.last.dose.grams) in steps


@settings(max_examples=20, deadline=None, suppress_health_check=list(HealthCheck))
@given(st.data(), st.sampled_from(["chlorine", "bromine"]), st.sampled_from(["strip", "drops"]))
def test_any_path_through_a_test_is_answered(data: st.DataObject, sanitizer: str, method: str) -> None:
    with World() as world:
        ada = world.owner("Ada", sanitizer=sanitizer, method=method)
        ada.says("test")
        for _ in range(data.draw(st.integers(4, 22))):
            labels = ada.buttons
            if labels and data.draw(st.integers(0, 3)):
                ada.taps(data.draw(st.sampled_from(labels)))
            elif ada.last.wait_minutes and data.draw(st.booleans()):
                world.passes(minutes=data.draw(st.sampled_from([5, ada.last.wait_minutes, 60 * 30])))
                continue
            else:
                ada.says(data.draw(st.sampled_from(TEXTS)))
            check(ada, world)
        issued = facts(standing(world.journal(ada)), PlanIssued)
        assert len({plan.plan_key for _, plan in issued}) == len(issued)
