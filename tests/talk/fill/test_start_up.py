"""Start-up: metals, cartridge, balance, sanitizer, buffer, and a test before anyone bathes, in the dealer's order."""

from collections.abc import Iterator
from datetime import timedelta
from typing import Any

import pytest

from bot.model.fact import Filled
from bot.talk.buttons import CommandButton, encode
from dosing import DEFAULT_KIT, Kit, Product
from tests.talk.fill.walking import Walk, question
from tests.talk.world import Actor, World, texts

PLAIN = {
    "supply": "plug_in",
    "pumps": 1,
    "filters": 1,
    "purifier": "none",
    "water_source": "mains",
    "cartridge": False,
}
BINDER = Product("metal_stop", {}, 1.0, label_dose_g_per_1000l=60.0, binder=True, form="liquid")
BUFFER = Product("ph_hold", {"sodium_bicarbonate": 0.5}, 1.0, label_dose_g_per_1000l=100.0, buffer=True)
TAP = ("0", "7.8", "120", "120")
"""Free chlorine, pH, alkalinity, hardness of the fill water."""
GOOD = ("3", "7.4", "80")


@pytest.fixture
def world() -> Iterator[World]:
    with World() as world:
        world.staff("Tom")
        yield world


class Run:
    """A start-up under way, by somebody who reads a strip: one test after the other, the last one again and again."""

    def __init__(self, actor: Actor, *tests: tuple[str, ...]) -> None:
        self.actor, self.tests = actor, list(tests)
        self.asked: list[str] = []
        self.said: list[str] = []

    def on(self, until: str | None = None, limit: int = 80) -> "Run":
        """Go on until a question is asked or nothing more is."""
        for _ in range(limit):
            if question(self.actor) in ("", until):
                return self
            self.step()
        raise AssertionError(f"the start-up does not end: {self.asked[-20:]}")

    def step(self) -> None:
        """Answer the open question, or let the time of a wait pass."""
        name = question(self.actor)
        self.asked.append(name)
        self.said.append(self.actor.text)
        keys = ("fc", "ph", "ta", "ch")
        if name in keys:
            values = self.tests[0]
            self.actor.answers(name, values[keys.index(name)] if keys.index(name) < len(values) else "120")
            if name == ("ch" if len(values) == 4 else "ta") and len(self.tests) > 1:
                self.tests.pop(0)
        elif name.startswith("wait.") and "It's warm now" not in self.actor.buttons:
            turn = self.actor.turn
            assert turn
            assert turn.wait
            self.actor.world.passes(minutes=turn.wait.minutes)
        else:
            wanted = ("Done", "It's warm now", "Go on", "I have none", "No", "Later")
            self.actor.taps(next(label for label in wanted if label in self.actor.buttons))


def starting(world: World, *tests: tuple[str, ...], **tub: Any) -> Run:
    """A tub that was filled just now, and is warm or is not to be heated."""
    ada = world.owner("Ada", running=False, **{**PLAIN, **tub})
    ada.did(Filled(litres=1300.0), ago=timedelta(minutes=20))
    ada.taps_data(encode(CommandButton("startup")))
    return Run(ada, *tests)


def starting_cold(world: World, *tests: tuple[str, ...], **tub: Any) -> Run:
    """A tub that was filled with the bot's help and heats up now."""
    ada = world.owner("Ada", running=False, **{**PLAIN, "past": "factory_new", **tub})
    ada.says("fill")
    Walk(ada, {"seconds": "30"}).on(until="fc")
    return Run(ada, *tests)


def kinds(world: World, actor: Actor) -> list[str]:
    return [entry.fact.kind for entry in world.journal(actor)]


def test_plain_water_is_tested_sanitized_and_tested_again(world):
    run = starting(world, TAP, GOOD).on()
    assert [name for name in run.asked if not name.startswith("wait.")] == [
        *("fc", "ph", "ta", "ch"),
        "did.sanitizer",
        *("fc", "ph", "ta"),
    ]
    readings = world.facts("reading", run.actor)
    assert [reading.source for reading in readings] == [True, False, False]
    assert [fact.product for fact in world.facts("addition", run.actor)] == ["dichlor"]
    assert kinds(world, run.actor).count("started") == 1
    assert "after one, two, four and seven days" in texts(run.actor.new)


def test_the_source_water_counts_as_the_first_test_because_nothing_has_gone_in(world):
    run = starting(world, TAP, GOOD).on()
    source, first, _ = world.facts("reading", run.actor)
    assert source.values == first.values


def test_the_next_test_is_wanted_a_day_later(world):
    run = starting(world, TAP, GOOD).on()
    started = next(entry for entry in world.journal(run.actor) if entry.fact.kind == "started")
    wanted = world.facts("test_wanted", run.actor)[-1]
    assert (wanted.at, wanted.why) == (started.at + timedelta(hours=24), "first_week")


def test_nobody_bathes_before_the_heat_was_warned_of(world):
    run = starting(world, TAP, GOOD).on()
    assert "Before the first bath" in texts(run.actor.new)
    assert "heat" in [fact.caution for fact in world.facts("warned", run.actor)]


def test_low_alkalinity_and_ph_come_before_hardness_and_the_sanitizer_is_not_left_out(world):
    run = starting(world, ("0", "6.8", "40", "25"), ("3", "7.2", "80"), ("3", "7.4", "80")).on()
    added = [name.removeprefix("did.") for name in run.asked if name.startswith("did.")]
    assert added[0] == "alkalinity_up"
    assert "sanitizer" in added
    assert kinds(world, run.actor).count("started") == 1


def test_well_water_gets_its_metal_binder_before_anything_else_once(world):
    kit = Kit((*DEFAULT_KIT.products, BINDER))
    run = starting(world, TAP, GOOD, water_source="well", kit=kit).on()
    products = [fact.product for fact in world.facts("addition", run.actor)]
    assert products[0] == "metal_stop"
    assert products.count("metal_stop") == 1
    assert world.facts("addition", run.actor)[0].grams == pytest.approx(78.0)
    assert "did.binder" in run.asked
    assert run.asked.index("did.binder") < run.asked.index("did.sanitizer")


def test_a_binder_that_the_kit_does_not_hold_goes_in_by_its_label(world):
    run = starting(world, TAP, GOOD, water_source="well").on(until="did.binder")
    assert "as much as its label says" in run.actor.text
    run.on()
    assert world.facts("addition", run.actor)[0].grams is None


def test_whoever_has_no_binder_is_told_what_that_means_and_goes_on(world):
    run = starting(world, TAP, GOOD, water_source="well").on(until="did.binder")
    run.actor.taps("I have none")
    assert "iron and copper turn" in run.actor.text
    assert "did.sanitizer" in run.on().asked


def test_mains_water_is_not_asked_about_metals_and_unknown_water_is(world):
    assert "metals" not in starting(world, TAP, GOOD).on().asked
    with World() as other:
        run = starting(other, TAP, GOOD, water_source=None).on()
        assert "metals" in run.asked
        assert run.actor.known.tub.water_source == "mains"


@pytest.mark.parametrize(
    ("tap", "known", "recorded"), [("Done", True, True), ("It has none", False, False), ("Later", None, False)]
)
def test_a_cartridge_is_placed_and_recorded_or_not(world, tap, known, recorded):
    run = starting(world, TAP, GOOD, cartridge=None).on(until="cartridge")
    run.actor.taps(tap)
    run.on()
    assert run.actor.known.tub.cartridge is known
    assert bool(world.facts("cartridge", run.actor)) is recorded


def test_the_buffer_goes_in_last_with_the_jets_off_and_only_into_balanced_water(world):
    run = starting(world, TAP, GOOD, kit=Kit((*DEFAULT_KIT.products, BUFFER))).on()
    assert [fact.product for fact in world.facts("addition", run.actor)][-1] == "ph_hold"
    told = run.said[run.asked.index("did.buffer")]
    assert "Jets off" in told
    assert "130 g" in told


def test_the_order_is_the_dealers(world):
    order = ("metal_binder", "oxidiser", "cartridge", "balance", "sanitizer", "buffer", "retest")
    with World(start_order=order) as world:
        run = starting(world, TAP, ("0", "7.8", "120", "120"), GOOD, cartridge=True).on()
        assert run.asked.index("did.oxidiser") < run.asked.index("cartridge") < run.asked.index("did.sanitizer")
        assert run.asked.count("ch") == 2  # the oxidiser has changed the water, so it is tested anew


def test_water_that_is_in_range_from_the_tap_gets_nothing(world):
    run = starting(world, ("3", "7.4", "80", "120")).on()
    assert world.facts("addition", run.actor) == []
    assert kinds(world, run.actor).count("started") == 1


def test_what_the_bot_needs_and_nobody_said_is_asked_first(world):
    run = starting(world, TAP, GOOD, volume=None, sanitizer=None)
    assert question(run.actor) == "sanitizer"
    run.actor.taps("Chlorine").says("1300 L")
    assert question(run.actor) == "fc"


def test_without_a_volume_nothing_is_dosed_and_the_water_is_not_called_ready(world):
    run = starting(world, TAP, GOOD, volume=None)
    run.actor.taps("I don't know")
    run.on()
    assert world.facts("addition", run.actor) == []
    assert "started" not in kinds(world, run.actor)
    assert world.facts("test_wanted", run.actor)[-1].why == "no_sanitizer"
    assert [fact.reasons for fact in world.facts("case", run.actor)] == [("tub_unknown",)]


def test_cold_water_is_dosed_first_then_warms_and_is_tested_again(world):
    run = starting_cold(world, TAP, GOOD).on(until="temp")
    assert run.asked.index("did.sanitizer") < run.asked.index("wait.warming")
    run.actor.says("37.5 C").says("38 C")
    assert "pH climbs as water warms" in run.actor.text
    run.on()
    assert len(world.facts("reading", run.actor)) == 4
    assert "Before the first bath" in texts(run.actor.new)


def test_the_end_of_the_heating_keeps_out_of_the_night(world):
    run = starting_cold(world, TAP, GOOD, supply="hard_wired", heater_kw=3.0).on(until="wait.warming")
    world.passes(hours=13)
    assert question(run.actor) == "wait.warming"
    world.passes(hours=12)
    assert question(run.actor) == "temp"
    hours = [parcel.at.hour for parcel in world.sent]
    assert all(9 <= hour < 20 for hour in hours)


def test_a_thermometer_above_forty_keeps_everybody_out_and_calls_a_technician(world):
    run = starting_cold(world, TAP, GOOD).on(until="temp")
    run.actor.answers("temp", "40.9").answers("panel", "38")
    assert "Keep everybody out" in run.actor.text
    assert [fact.klass for fact in world.facts("case", run.actor)] == ["danger"]
    assert world.actors["Tom"].messages
    assert question(run.actor) == ""


def test_two_thermometers_that_disagree_go_to_a_technician(world):
    run = starting_cold(world, TAP, GOOD).on(until="temp")
    run.actor.says("34").says("38")
    assert "one of them is wrong" in run.actor.text
    assert [fact.klass for fact in world.facts("case", run.actor)] == ["stuck"]


def test_a_restart_anywhere_asks_the_same_question_again(world):
    run = starting(world, TAP, GOOD, water_source="well", cartridge=True)
    for _ in range(40):
        here = question(run.actor)
        if not here:
            break
        world.restart()
        run.actor.says("/open")
        assert question(run.actor) == here
        run.step()
    assert kinds(world, run.actor).count("started") == 1
    assert kinds(world, run.actor).count("cartridge") == 1


@pytest.mark.parametrize("tests", [(TAP, GOOD), (("0", "8.4", "240", "25"), ("3", "7.8", "180"), ("3", "7.4", "120"))])
def test_every_message_fits_a_phone(world, tests):
    run = starting(world, *tests, water_source="well", cartridge=True).on()
    for message in run.actor.messages:
        assert all(0 < len(button.label) <= 20 for row in message.buttons for button in row)
        assert len(message.text) <= 1000, message.text


def test_acid_stays_within_three_steps_of_25_grams_per_1000_litres_in_any_day(world):
    stubborn = [("3", "8.4", "240", "120")] + [("3", "8.4", "240")] * 9
    run = starting(world, *stubborn).on()
    doses = [
        (entry.at, entry.fact.substances["sodium_bisulfate"])
        for entry in world.journal(run.actor)
        if entry.fact.kind == "addition" and "sodium_bisulfate" in entry.fact.substances
    ]
    assert len(doses) >= 3
    for start, _ in doses:
        day = [grams for at, grams in doses if start <= at < start + timedelta(hours=24)]
        assert sum(day) <= 3 * 25 * 1.3


def test_what_is_too_much_for_one_day_goes_on_with_a_test_tomorrow(world):
    pads = [("8.2", "240"), ("8.2", "180"), ("8.4", "180"), ("8.2", "180"), *[("8.2", "120")] * 4]
    slow = [("3", "8.4", "240", "120"), *(("3", ph, ta) for ph, ta in pads)]
    run = starting(world, *slow).on()
    wanted = world.facts("test_wanted", run.actor)[-1]
    assert wanted.at - world.clock.now() == timedelta(hours=24)
    assert "Next test: Tue 2 Mar" in run.actor.text
    assert "No bathing for now" in run.actor.text
