"""What is known of a tub's water moves its tests and its change of water, and says why."""

from collections.abc import Sequence
from datetime import UTC, datetime, timedelta

from bot.model.dealer import Dealer
from bot.model.fact import Added, Entry, Filled, Plain, ReadingTaken, Soaked, StartedUp
from bot.model.person import Person
from bot.model.tub import Tub
from bot.schedule.care import Care
from bot.schedule.season import outlook_of
from dosing import DEFAULT_KIT, Said

DEALER = Dealer(key="d", name="Harbour Tubs", zone="Europe/Paris")
ADA = Person(key="ada", dealer="d", name="Ada", zone="Europe/Paris")
TUB = Tub(key="t", dealer="d", volume=1300.0, sanitizer="chlorine")
FILL = datetime(2027, 3, 1, 9, tzinfo=UTC)


def at(days: float) -> datetime:
    return FILL + timedelta(days=days)


def read_off(**values: float) -> ReadingTaken:
    return ReadingTaken(values={key: Said.value(value) for key, value in values.items()})


def poured(product: str, grams: float) -> Added:
    found = DEFAULT_KIT.named(product)
    assert found
    return Added(product=product, grams=grams, substances=found.split(grams))


def entries(*told: tuple[float, Plain]) -> list[Entry]:
    made = [
        Entry(key=str(number), dealer="d", tub="t", person="ada", at=at(days), via="test", fact=fact)
        for number, (days, fact) in enumerate(told)
    ]
    return sorted(made, key=lambda entry: entry.at)


def care(journal: Sequence[Entry], days: float, tub: Tub = TUB) -> Care:
    return Care(ADA, tub, DEALER, journal, at(days))


START = ((0.0, Filled()), (0.1, StartedUp()), (8.0, read_off(fc=5, ph=7.4, ta=80)))


def test_a_tub_of_which_little_is_known_is_tested_before_the_week_is_over_and_says_why() -> None:
    found = care(entries(*START), 8.1)
    due, why = found.first("test"), found.reason("test")
    assert due
    assert at(8) + timedelta(days=2.5) < due < at(15)
    assert why
    assert why.code.startswith("forecast_")


def test_a_party_asks_for_a_test_on_the_next_day() -> None:
    party = entries(*START, (9.5, Soaked(bathers=6, minutes=90)))
    due, why = care(party, 9.6).first("test"), care(party, 9.6).reason("test")
    assert due
    assert due < at(11)
    assert why
    assert why.code == "after_party"


def test_a_test_is_never_later_than_the_dealers_interval() -> None:
    for days in (8.2, 10.0, 14.0):
        due = care(entries(*START), days).first("test")
        assert due
        assert due <= at(15.5)


def test_dichlor_alone_brings_the_change_of_water_forward_by_its_cyanurate() -> None:
    daily = [(8.0 + day, poured("dichlor", 12.0)) for day in range(20)]
    plain, stabilised = entries(*START), entries(*START, *daily)
    usual, sooner = care(plain, 28.0), care(stabilised, 28.0)
    assert usual.reason("refill").code == "interval"  # type: ignore[union-attr]
    assert sooner.reason("refill").code == "cyanurate"  # type: ignore[union-attr]
    assert sooner.first("refill") < usual.first("refill")  # type: ignore[operator]


def test_the_same_facts_give_the_same_days_whenever_they_are_looked_at() -> None:
    journal = entries(*START, (9.0, Soaked(bathers=2, minutes=30)))
    first = [care(journal, days).first("refill") for days in (9.1, 11.0, 13.5)]
    assert len(set(first)) == 1
    assert outlook_of(TUB, DEALER, journal) == outlook_of(TUB, DEALER, list(journal))


def test_a_changed_fact_is_looked_at_anew_though_its_entry_is_the_same() -> None:
    journal = entries(*START)
    before = outlook_of(TUB, DEALER, journal)
    changed = [
        entry.model_copy(update={"fact": read_off(fc=1, ph=7.4, ta=80)}) if entry.key == "2" else entry
        for entry in journal
    ]
    assert outlook_of(TUB, DEALER, changed) != before


def test_without_a_test_nothing_is_foreseen_and_days_are_counted() -> None:
    journal = entries(*START[:2])
    assert outlook_of(TUB, DEALER, journal) is None
    assert care(journal, 3.0).reason("refill") is None
    assert care(journal, 3.0).first("refill")
