"""Welcome: consent first, then as few questions as can be, and never what the dealer has said already."""

from collections.abc import Iterator
from datetime import time, timedelta

import pytest

from bot.model.fact import Filled
from bot.model.person import Invite, digest_of
from dosing import DEFAULT_KIT
from tests.talk.fill.walking import Walk, question
from tests.talk.world import Actor, World

WHOLE_TUB = {
    "volume": 1300.0,
    "sanitizer": "chlorine",
    "supply": "plug_in",
    "pumps": 1,
    "filters": 1,
    "cartridge": False,
    "purifier": "none",
    "water_source": "mains",
    "past": "factory_new",
}
HABIT = {
    "agree": "[All right, go on]",
    "units": "[Litres, °C]",
    "place": "Lyon",
    "quiet": "[That's fine]",
    "kit": "[I have them all]",
    "bathers": "2",
    "soaks_per_week": "[Twice]",
}
UNKNOWN = {
    **HABIT,
    "full": "[No]",
    "sanitizer": "[Chlorine]",
    "volume": "1300 L",
    "supply": "[A fixed line]",
    "pumps": "[2]",
    "filters": "[2]",
    "fill_well": "the one by the steps",
    "purifier": "[Ozone]",
    "heater_kw": "5.5 kW",
    "water_source": "[A well]",
    "past": "[Used before]",
    "cartridge": "[Yes]",
}


@pytest.fixture
def world() -> Iterator[World]:
    with World(zone="America/Chicago") as world:
        yield world


def invited(world: World, answers: dict[str, str] | None = None, **tub: object) -> Walk:
    ada = world.stranger("Ada", invite="a secret", **tub)
    ada.opens("a secret")
    return Walk(ada, {**HABIT, **(answers or {})})


def welcomed(world: World, answers: dict[str, str] | None = None, **tub: object) -> Actor:
    """Up to the first step of the fill."""
    return invited(world, answers, **tub).on(until="site").actor


def test_the_first_message_says_who_writes_what_is_kept_and_how_to_stop(world):
    ada = invited(world, **WHOLE_TUB).actor
    for told in ("Hello Ada", "Tidewell Tubs", "I am a program", "I keep", "stop", "delete my data"):
        assert told in ada.text
    assert ada.buttons == ["All right, go on", "No"]


def test_a_tub_that_the_dealer_described_takes_seven_questions(world):
    walk = invited(world, **WHOLE_TUB).on(until="site")
    assert walk.asked == ["agree", "units", "place", "quiet", "kit", "bathers", "soaks_per_week"]


def test_a_dealer_with_a_kit_of_his_own_is_not_asked_about_it():
    with World(kit=DEFAULT_KIT.without("soda_ash")) as world:
        assert "kit" not in invited(world, **WHOLE_TUB).on(until="site").asked


def test_the_second_of_a_household_is_asked_only_about_themselves(world):
    ada = world.owner("Ada", bathers=2, soaks_per_week=3.0, kit=DEFAULT_KIT, **WHOLE_TUB)
    expires = world.clock.now() + timedelta(days=1)
    invite = Invite(digest=digest_of("for two"), dealer="house", name="Bo", tub=ada.known.tub.key, expires=expires)
    world.do(world.store.put_invite(invite))
    bo = world.stranger("Bo").opens("for two")
    walk = Walk(bo, HABIT).on(until="test_now")
    assert walk.asked == ["agree", "units", "place", "quiet"]


def test_consent_is_recorded_when_it_is_given_and_nothing_is_asked_before(world):
    walk = invited(world, **WHOLE_TUB)
    assert walk.actor.known.person.agreed_at is None
    walk.actor.taps("No")
    assert question(walk.actor) == "agree"
    assert "Delete my data" in walk.actor.buttons
    walk.actor.taps("All right, go on")
    assert walk.actor.known.person.agreed_at == world.clock.now()
    assert question(walk.actor) == "units"


def test_an_owner_whom_nobody_invited_comes_in_where_the_door_is_open_and_tells_all():
    with World(open_door=True) as world:
        eve = world.stranger("Eve")
        eve.says("hello")
        walk = Walk(eve, UNKNOWN).on(until="site")
        tub = eve.known.tub
        assert tub.model_dump(
            include={"volume", "sanitizer", "supply", "pumps", "filters", "fill_well", "purifier"}
        ) == {
            "volume": 1300.0,
            "sanitizer": "chlorine",
            "supply": "hard_wired",
            "pumps": 2,
            "filters": 2,
            "fill_well": "the one by the steps",
            "purifier": "ozone",
        }
        assert (tub.heater_kw, tub.water_source, tub.past, tub.cartridge) == (5.5, "well", "used", True)
        assert (tub.bathers, tub.soaks_per_week) == (2, 2.0)
        assert len(walk.asked) <= 19


def test_every_question_about_the_tub_may_be_left_open():
    with World(open_door=True) as world:
        eve = world.stranger("Eve")
        eve.says("hello")
        unknown = dict.fromkeys(UNKNOWN, "[I don't know]")
        Walk(eve, {**unknown, **HABIT, "full": "[No]"}).on(until="site")
        assert (eve.known.tub.volume, eve.known.tub.supply, eve.known.tub.past) == (None, None, None)


def test_a_place_sets_the_clock_that_times_are_told_by(world):
    ada = invited(world, **WHOLE_TUB).on(until="place").actor
    ada.says("Lyon")
    assert "10:00" in ada.text  # 9:00 UTC on the first of March
    assert ada.known.person.zone == "Europe/Paris"


def test_the_dealers_own_zone_takes_one_tap(world):
    ada = invited(world, **WHOLE_TUB).on(until="place").actor
    assert ada.taps("Chicago time").known.person.zone == "America/Chicago"


def test_a_place_that_could_be_several_is_asked_about_and_another_may_be_written(world):
    ada = invited(world, **WHOLE_TUB).on(until="place").actor
    ada.says("paris")
    assert ada.buttons[:2] == ["Paris, Texas", "Paris, France"]
    ada.taps("Another place").says("nowhere-at-all")
    assert "don't know that place" in ada.text
    ada.says("paris, france")
    assert ada.known.person.zone == "Europe/Paris"


def test_us_units_make_dates_and_times_american(world):
    ada = invited(world, {"units": "[US gallons, °F]"}, **WHOLE_TUB).on(until="place").actor
    ada.says("Boston, MA")
    assert "4:00" in ada.text
    assert "AM" in ada.text


def test_quiet_hours_of_ones_own_are_kept(world):
    ada = invited(world, **WHOLE_TUB).on(until="quiet").actor
    ada.taps("Other hours").says("half past ten in the evening").says("7")
    assert (ada.known.person.quiet.start, ada.known.person.quiet.end) == (time(22, 30), time(7))


def test_products_that_are_missing_leave_the_kit(world):
    ada = invited(world, **WHOLE_TUB).on(until="kit").actor
    ada.taps("Some are missing").answers("lacks", "soda_ash").answers("lacks", "hypochlorite").taps("That's all")
    kept = [product.key for product in ada.known.tub.kit.products]
    assert kept == [p.key for p in DEFAULT_KIT.products if p.key not in ("soda_ash", "hypochlorite")]


def test_a_tub_that_is_full_leads_to_a_test_and_its_water_has_an_age():
    with World(open_door=True) as world:
        eve = world.stranger("Eve")
        eve.says("hello")
        walk = Walk(eve, {**UNKNOWN, "full": "[Yes]", "age": "[About a month]"}).on(until="test_now")
        assert "supply" not in walk.asked
        filled = [entry for entry in world.journal(eve) if isinstance(entry.fact, Filled)]
        assert (world.clock.now() - filled[0].at).days == 30
        eve.taps("Test the water")
        assert question(eve) == "soaks"


@pytest.mark.parametrize(
    ("said", "litres"),
    [("1300", 1300), ("1.3 m3", 1300), ("345 us gallons", 1306), ("2 x 2 x 0.8 m", 3200), ("1,350 litres", 1350)],
)
def test_a_volume_is_read_in_any_unit(world, said, litres):
    tub = {**WHOLE_TUB, "volume": None}
    assert welcomed(world, {"volume": said}, **tub).known.tub.volume == pytest.approx(litres, abs=1)


@pytest.mark.parametrize(("which", "litres"), [("US gallons", 1325), ("Imperial gallons", 1591)])
def test_a_plain_gallon_is_asked_back(world, which, litres):
    walk = invited(world, {"volume": "350 gal", "gallon": f"[{which}]"}, **{**WHOLE_TUB, "volume": None})
    assert walk.on(until="site").actor.known.tub.volume == pytest.approx(litres, abs=1)
    assert "gallon" in walk.asked


@pytest.mark.parametrize("said", ["20 L", "99999", "3 gallons us"])
def test_a_volume_that_no_tub_has_is_asked_again(world, said):
    ada = invited(world, **{**WHOLE_TUB, "volume": None}).on(until="volume").actor
    ada.says(said)
    assert "No hot tub holds that" in ada.text
    assert question(ada) == "volume"


def test_a_volume_is_worked_out_from_shape_and_measurements(world):
    answers = {
        "volume": "[Work it out]",
        "shape": "[Square, rectangular]",
        "length": "2.1 m",
        "width": "210",
        "depth": "75 cm",
        "inside": "[Moulded seats]",
        "fits": "[Yes, use that]",
    }
    walk = invited(world, answers, **{**WHOLE_TUB, "volume": None}).on(until="fits")
    assert "2,650 L" in walk.actor.text
    assert "2,320 L" in walk.actor.text
    assert walk.on(until="site").actor.known.tub.volume == 2650


def test_a_round_tub_is_measured_once_across_in_feet_and_inches(world):
    answers = {
        "units": "[US gallons, °F]",
        "volume": "[Work it out]",
        "shape": "[Round]",
        "diameter": "6'6\"",
        "depth": "30",
        "inside": "[Straight walls]",
        "fits": "[Yes, use that]",
    }
    walk = invited(world, answers, **{**WHOLE_TUB, "volume": None}).on(until="site")
    assert "width" not in walk.asked
    assert walk.actor.known.tub.volume == pytest.approx(2350, abs=20)


def test_a_full_tub_is_measured_by_how_long_the_hose_ran():
    with World(open_door=True) as world:
        eve = world.stranger("Eve")
        eve.says("hello")
        answers = {"full": "[Yes]", "age": "[A few days]", "volume": "[By the filling time]", "bucket": "[10 L]"}
        walk = Walk(eve, {**UNKNOWN, **answers, "seconds": "30 s", "minutes": "1 h"}).on(until="test_now")
        assert eve.known.tub.volume == 1200
        assert "bucket" in walk.asked


def test_every_message_is_short_and_every_label_fits():
    with World(open_door=True) as world:
        eve = world.stranger("Eve")
        eve.says("hello")
        Walk(eve, UNKNOWN).on(until="site")
        for message in eve.messages:
            assert len(message.text) <= 600
            assert all(0 < len(button.label) <= 20 for row in message.buttons for button in row)


def test_a_restart_or_a_step_back_anywhere_loses_nothing():
    with World(open_door=True) as world:
        eve = world.stranger("Eve")
        eve.says("hello")
        seen: list[str] = []

        def shake(actor: Actor) -> None:
            here = question(actor)
            world.restart()
            actor.says("/open")
            assert question(actor) == here
            if seen:
                actor.says("back")
                assert question(actor) == seen[-1]
                Walk(actor, UNKNOWN).step()
                assert question(actor) == here
            seen.append(here)

        Walk(eve, UNKNOWN).on(until="site", before_each=shake)
        assert eve.known.tub.volume == 1300
        told = [entry.fact for entry in world.journal(eve) if entry.fact.kind == "told"]
        assert len([fact for fact in told if "volume" in fact.values]) == 1


@pytest.mark.parametrize(
    "words", ["hi", "test", "fc 3 ph 7.4 ta 80", "it's cloudy", "fill", "history", "two caps of ph down"]
)
def test_whoever_has_not_agreed_is_asked_to_before_anything_is_kept(world: World, words: str) -> None:
    eve = invited(world, **WHOLE_TUB).actor
    eve.taps("No").says(words)
    assert question(eve) == "agree"
    eve.says("cancel")
    assert question(eve) == ""
    eve.says(words)
    assert question(eve) == "agree"
    assert not world.journal(eve)


def test_an_old_button_begins_nothing_before_agreement(world: World) -> None:
    eve = invited(world, **WHOLE_TUB).actor
    eve.says("help").says("cancel").taps("First fill")
    assert question(eve) == "agree"


def test_danger_and_the_ways_out_come_before_agreement(world: World) -> None:
    eve = invited(world, **WHOLE_TUB).actor
    eve.says("cancel").says("I felt a shock in the water")
    assert "licensed electrician" in eve.text
    eve.says("stop")
    assert eve.known.person.standing == "stopped"
    eve.says("start")
    assert eve.known.person.standing == "active"
    assert question(eve) == "agree"
    eve.says("delete my data").says("yes")
    assert eve.known.person is None


def test_no_means_the_other_answer_where_there_is_one(world: World) -> None:
    eve = invited(world, **WHOLE_TUB).on(until="quiet").actor
    eve.says("no")
    assert question(eve) == "quiet.start"
    walk = Walk(eve, HABIT | {"quiet.start": "21", "quiet.end": "7"}).on(until="kit")
    walk.actor.says("nope")
    assert question(eve) == "lacks"


def test_a_button_from_before_being_forgotten_fits_nothing_after_coming_back(world: World) -> None:
    eve = invited(world, **WHOLE_TUB).actor
    old = eve.button("All right, go on").data
    eve.says("delete my data").says("yes")
    back = world.stranger("Eve", "another secret", **WHOLE_TUB).opens("another secret")
    assert question(back) == "agree"
    back.taps_data(old)
    assert question(back) == "agree"
    assert "out of date" in back.text


@pytest.mark.parametrize(
    ("said", "units"), [("metric", "metric"), ("us galons", "us"), ("Fahrenheit", "us"), ("litres", "metric")]
)
def test_units_are_taken_as_people_name_them(world: World, said: str, units: str) -> None:
    eve = invited(world, **WHOLE_TUB).on(until="units").actor
    eve.says(said)
    assert question(eve) == "place"
    assert eve.known.person.units == units


def test_a_strangers_danger_reaches_staff_under_the_name_that_their_app_gives(world: World) -> None:
    tom = world.staff("Tom")
    world.stranger("Zed").says("my son swallowed a chlorine tablet")
    assert "Zed" in tom.text
    assert "?" not in tom.text.splitlines()[0]
