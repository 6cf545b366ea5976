"""The first fill: every step is reached by the tubs that it is for, and nobody is left alone when stuck."""

from itertools import pairwise

import pytest

from bot.model.fact import CaseOpened
from bot.talk.flows.fill_steps import ALL, RUNNING, FillStep
from bot.talk.words import has
from tests.talk.fill.walking import Walk, question, question_alone
from tests.talk.world import Actor, World, texts

NEW_PLUG_IN = {
    "supply": "plug_in",
    "pumps": 1,
    "filters": 1,
    "purifier": "none",
    "water_source": "mains",
    "past": "factory_new",
}
USED_HARD_WIRED = {
    "supply": "hard_wired",
    "pumps": 3,
    "filters": 2,
    "fill_well": "left",
    "purifier": "ozone",
    "heater_kw": 5.5,
    "water_source": "well",
    "past": "used",
}
SOFTENED_STORED = {"supply": "hard_wired", "pumps": 2, "water_source": "softened", "past": "stored", "purifier": "uv"}
START_UP = "fc"
TUBS = {
    "new plug-in": NEW_PLUG_IN,
    "used hard-wired": USED_HARD_WIRED,
    "softened stored": SOFTENED_STORED,
    "unknown": {},
}


@pytest.fixture
def world():
    with World(zone="America/Chicago") as world:
        world.staff("Tom")
        yield world


def filling(world: World, tub: dict | None = None, answers: dict[str, str] | None = None, **person: str) -> Walk:
    ada = world.owner("Ada", running=False, person=person, **(NEW_PLUG_IN if tub is None else tub))
    ada.says("fill")
    return Walk(ada, {"seconds": "30", "purge": "[Not yet]", **(answers or {})})


def filled(world: World, tub: dict | None = None, answers: dict[str, str] | None = None, **person: str) -> Walk:
    """Up to the first question of the start-up."""
    return filling(world, tub, answers, **person).on(until=START_UP)


def test_every_step_is_reached_by_some_tub():
    reached: set[str] = set()
    for tub in TUBS.values():
        with World() as world:
            reached |= set(filled(world, tub).asked)
    assert {step.key for step in ALL} <= reached


@pytest.mark.parametrize("name", TUBS)
def test_a_step_comes_only_for_the_tubs_that_it_is_for_and_in_the_order_of_the_list(world, name):
    asked = filled(world, TUBS[name]).asked
    tub = world.actors["Ada"].tub
    steps = [step.key for step in ALL]
    assert [key for key in asked if key in steps] == [
        step.key
        for step in ALL
        if step.matters(tub) and not (step.key.startswith("purge_") and tub.past == "factory_new")
    ]


@pytest.mark.parametrize("step", ALL, ids=lambda step: step.key)
def test_every_step_has_its_words_in_every_way_it_is_worded(step: FillStep):
    for part in ("do", "why", "causes"):
        assert has(f"fill.{step.key}.{part}")
    assert has(f"case.reason.fill_{step.key}")


def test_water_comes_before_power_and_the_level_before_both(world):
    asked = filled(world).asked
    order = [
        asked.index(key)
        for key in ("hose_rinse", "bucket", "hose_in", "wait.filling", "level", "power", "jets", "target")
    ]
    assert order == sorted(order)


def test_the_fill_time_comes_from_the_bucket_and_the_fill_is_recorded_with_its_litres(world):
    walk = filling(world, answers={"seconds": "45"}).on(until="wait.filling")
    assert "81 minutes" in walk.actor.text  # 1300 L at 12 L in 45 s
    world.passes(minutes=82)
    assert question(walk.actor) == "full"
    walk.on(until=START_UP)
    assert [fact.litres for fact in world.facts("fill", walk.actor)] == [1300]


def test_a_tub_that_is_full_early_is_full_and_one_that_is_not_is_looked_at_again(world):
    walk = filling(world).on(until="wait.filling")
    world.passes(hours=2)
    walk.actor.taps("Not yet")
    assert question(walk.actor) == "wait.filling.more"
    world.passes(minutes=10)
    walk.actor.taps("It's full now")
    assert question(walk.actor) == "level"


def test_a_volume_that_nobody_knows_is_measured_while_filling(world):
    walk = filled(world, {**NEW_PLUG_IN, "volume": None}, {"minutes": "1 h 10 min"})
    assert world.facts("fill", walk.actor)[0].litres == 1680  # 24 L a minute for 70 minutes
    assert walk.actor.known.tub.volume == 1680


def test_without_a_bucket_or_a_volume_it_fills_until_it_is_full(world):
    answers = {"bucket": "[Skip]", "temp": "[I have none]"}
    walk = filling(world, {**NEW_PLUG_IN, "volume": None}, answers).on(until="volume")
    assert world.facts("fill", walk.actor)[0].litres is None


def test_a_plug_in_tub_heats_slowly_and_keeps_its_jets_off(world):
    plug_in = filled(world).actor.text
    assert "31 hours" in plug_in
    assert "jets can't both run" in plug_in


def test_a_hard_wired_tub_heats_by_its_own_heater_and_may_run_its_jets(world):
    hard_wired = filled(world, USED_HARD_WIRED).actor.text
    assert "5.5 kW" in hard_wired
    assert "8 hours" in hard_wired
    assert "can't both run" not in hard_wired


def test_a_plug_in_tub_is_plugged_in_and_a_hard_wired_one_switched_on(world):
    assert "plug in" in "".join(t for t in filled(world).texts if "mains current" in t)
    with World() as other:
        texts = filled(other, USED_HARD_WIRED).texts
        assert "licensed electrician connected the tub" in "".join(texts)
        assert any("switch on at the breaker" in text for text in texts)


def test_two_filters_are_filled_through_the_well_that_the_dealer_named(world):
    texts = filled(world, USED_HARD_WIRED).texts
    assert any("Take the filters out" in text and "the left filter's well" in text for text in texts)


def test_the_caution_about_electricity_is_full_once_and_short_afterwards(world):
    walk = filled(world, USED_HARD_WIRED)
    assert sum("call a licensed electrician" in text for text in walk.texts) == 1
    assert [fact.caution for fact in world.facts("warned", walk.actor)].count("electricity") == 1


def test_nobody_sets_more_than_forty_degrees(world):
    walk = filling(world).on(until="target")
    walk.actor.answers("target", "41 C")
    assert "too hot" in walk.actor.text
    assert question(walk.actor) == "target"
    walk.actor.answers("target", "102 F")
    assert question(walk.actor) == "temp"


@pytest.mark.parametrize("name", ["used hard-wired", "unknown"])
def test_being_stuck_anywhere_leads_to_the_causes_then_to_a_technician_and_back_to_the_fill(world, name):
    walk = filling(world, TUBS[name])
    met: list[str] = []

    def get_stuck(actor: Actor) -> None:
        if "Stuck" in actor.buttons:
            met.append(question(actor).replace("wait.filling", "full"))
            actor.taps("Stuck")
            assert actor.text.startswith("The usual causes, in order:")
            assert actor.buttons == ["Fixed it", "Still stuck", "Back"]
            actor.taps("Still stuck").says("it just will not do it")
            assert "technician of Tidewell Tubs" in actor.text
            assert actor.buttons == ["It works now", "Back", "Danger or accident"]

    walk.on(until=START_UP, before_each=get_stuck)
    cases = [fact for fact in world.facts("case", walk.actor) if isinstance(fact, CaseOpened)]
    assert [reason for case in cases for reason in case.reasons] == [f"fill_{key}" for key in dict.fromkeys(met)]
    assert all(case.text == "it just will not do it" for case in cases)
    assert {step.key for step in RUNNING if step.matters(walk.actor.known.tub)} <= set(met)
    world.passes(hours=24)
    told = texts(world.actors["Tom"].messages)
    assert all(case.case in told for case in cases)


def test_what_is_fixed_goes_on_without_a_technician(world):
    walk = filling(world)
    walk.actor.taps("Stuck").taps("Fixed it")
    assert question(walk.actor) == "cover"
    assert world.facts("case", walk.actor) == []


@pytest.mark.parametrize("name", ["used hard-wired"])
def test_back_leads_to_the_question_before_from_every_question(world, name):
    walk = filling(world, TUBS[name])
    seen: list[tuple[str, str]] = []

    def go_back_and_forth(actor: Actor) -> None:
        here = question(actor), question_alone(actor)
        if seen and "Back" in actor.buttons:
            actor.taps("Back")
            assert (question(actor), question_alone(actor)) == seen[-1]
            Walk(actor, walk.answers).on(until=here[0])
            assert (question(actor), question_alone(actor)) == here
        if not here[0].startswith("wait."):
            seen.append(here)

    walk.on(until=START_UP, before_each=go_back_and_forth)
    assert len(seen) > 15
    assert all(a != b for a, b in pairwise(seen))


@pytest.mark.parametrize("name", ["used hard-wired"])
def test_a_restart_anywhere_asks_the_same_question_again(world, name):
    def restart(actor: Actor) -> None:
        before = question(actor)
        world.restart()
        actor.says("/open")
        assert question(actor) == before

    walk = filling(world, TUBS[name]).on(until=START_UP, before_each=restart)
    assert len(world.facts("fill", walk.actor)) == 1


@pytest.mark.parametrize("units", ["metric", "us"])
@pytest.mark.parametrize("name", TUBS)
def test_every_message_fits_a_phone_and_every_button_its_place(world, name, units):
    walk = filled(world, TUBS[name], {"bucket": "12 L", "target": "38 C", "temp": "12 C"}, units=units)
    for message in walk.actor.messages:
        assert len(message.text) <= 600, message.text
        assert all(0 < len(button.label) <= 20 for row in message.buttons for button in row)


@pytest.mark.parametrize("name", TUBS)
def test_the_fill_is_no_longer_than_it_must_be(world, name):
    longest = {"new plug-in": 26, "used hard-wired": 35, "softened stored": 33, "unknown": 32}
    assert len(filled(world, TUBS[name]).asked) <= longest[name]


def test_a_button_of_an_earlier_step_is_answered_with_the_open_one(world):
    walk = filling(world)
    old = walk.actor.button("Done").data
    walk.actor.taps("Done").taps_data(old)
    assert question(walk.actor) == "cover"
    assert "already" in walk.actor.text


def test_done_may_be_typed(world):
    walk = filling(world)
    walk.actor.says("done").says("ok done!")
    assert question(walk.actor) == "sign_off"


def test_a_tub_that_has_water_is_asked_whether_it_wants_new_water(world):
    ada = world.owner("Ada", **NEW_PLUG_IN)
    ada.says("fill")
    assert question(ada) == "already"
    ada.taps("Change the water")
    assert ada.conversation.flows[-1].flow == "refill"


def test_whoever_is_stuck_while_it_fills_gets_the_causes_and_then_goes_on(world):
    walk = filling(world).on(until="wait.filling")
    walk.actor.taps("Stuck").taps("Fixed it")
    assert question(walk.actor) == "full"


def test_asking_for_the_fill_in_the_middle_of_it_goes_on_where_it_was(world: World) -> None:
    ada = world.owner("Ada", running=False, **NEW_PLUG_IN)
    ada.says("fill").taps("Done").taps("Done")
    there = question(ada)
    ada.says("fill")
    assert question(ada) == there
    ada.says("test")
    assert question(ada) != there
    ada.says("fill")
    assert question(ada) == there


@pytest.mark.parametrize(
    ("pumps", "said"), [(None, "pumps one at a time"), (1, "the jet pump:"), (3, "the 3 jet pumps")]
)
def test_pumps_are_counted_only_where_somebody_counted_them(world: World, pumps: int | None, said: str) -> None:
    ada = world.owner("Ada", running=False, pumps=pumps)
    ada.says("/fill")
    for _ in range(40):
        if ada.last.asks == "jets":
            break
        ada.taps(ada.buttons[3] if ada.last.asks == "bucket" else ada.buttons[0])
    assert said in ada.text
