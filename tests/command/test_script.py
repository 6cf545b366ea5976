"""A line of a script says one thing, or what is wrong with it."""

import contextlib
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bot.command.script import (
    Answers,
    At,
    BadLine,
    Blocks,
    Cast,
    History,
    Line,
    Passes,
    Restart,
    Says,
    Sends,
    Taps,
    parse,
)

CHICAGO = ZoneInfo("America/Chicago")


@pytest.mark.parametrize(
    ("text", "line"),
    [
        ("at 2027-03-01T09:00 America/Chicago", At(datetime(2027, 3, 1, 9, tzinfo=CHICAGO), "America/Chicago")),
        ("cast dealer Ines", Cast("dealer", "Ines", {})),
        ("cast owner Ada volume=1300L lang=fr", Cast("owner", "Ada", {"volume": "1300L", "lang": "fr"})),
        ("cast owner Bo tub=Ada", Cast("owner", "Bo", {"tub": "Ada"})),
        ("Ada: hi there", Says("Ada", "hi there")),
        ("Ada: [Done]", Says("Ada", "[Done]")),
        ("Ada: is 3 < 5?", Says("Ada", "is 3 < 5?")),
        ("Ada:no space", Says("Ada", "no space")),
        ("Ada [Done]", Taps("Ada", "Done")),
        ("Ada [It's full now]", Taps("Ada", "It's full now")),
        ("Ada answer ph 7.8", Answers("Ada", "ph", "7.8")),
        ("Ada answer did.ph_down only half", Answers("Ada", "did.ph_down", "only half")),
        ("Ada < photo.jpg", Sends("Ada", "photo.jpg", "")),
        ("Ada < photo.jpg look at this", Sends("Ada", "photo.jpg", "look at this")),
        ("Ada blocks", Blocks("Ada", blocked=True)),
        ("Ada unblocks", Blocks("Ada", blocked=False)),
        ("wait 7d", Passes(timedelta(days=7))),
        ("wait 90m", Passes(timedelta(minutes=90))),
        ("wait 1.5h", Passes(timedelta(hours=1.5))),
        ("wait 2w", Passes(timedelta(weeks=2))),
        ("restart", Restart()),
        ("  Ada [Done]  ", Taps("Ada", "Done")),
        ("", None),
        ("   ", None),
        ("# Ada: not said", None),
    ],
)
def test_a_line_means_one_thing(text: str, line: Line | None) -> None:
    assert parse(text) == line


def test_a_journal_line_keeps_what_happened_for_later() -> None:
    found = parse("journal Ada 2027-02-20T18:00 reading fc 3 ph 7.6 ta 90")
    assert isinstance(found, History)
    assert (found.name, found.what) == ("Ada", "reading fc 3 ph 7.6 ta 90")


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("at 2027-03-01T09:00", "IANA"),
        ("at 2027-03-01T09:00 +01:00", "IANA"),
        ("at tomorrow Europe/Paris", "2027-03-01T09:00"),
        ("cast", "cast needs a part"),
        ("cast king Ada", "dealer, tech, owner, stranger, invited, group"),
        ("cast owner Ada volume", "volume=1300L"),
        ("cast owner wait volume=1L", "cannot be a name"),
        ("journal Ada", "journal needs"),
        ("journal Ada yesterday reading ph 7", "no date and time"),
        ("wait a minute", "30m, 2h, 7d or 1w"),
        ("wait 3", "30m, 2h, 7d or 1w"),
        ("restart now", "alone"),
        ("Ada says hello", "no line of a script"),
        ("Ada []", "no line of a script"),
        ("Ada answer ph", "no line of a script"),
    ],
)
def test_a_wrong_line_says_what_would_be_right(text: str, says: str) -> None:
    with pytest.raises(BadLine, match=says.replace("+", r"\+")):
        parse(text)


@given(st.text(max_size=60))
def test_no_line_at_all_is_anything_but_understood_or_refused(text: str) -> None:
    with contextlib.suppress(BadLine):
        parse(text)


@given(
    st.text(alphabet=st.characters(codec="utf-8", exclude_categories=["Cc", "Cs", "Zl", "Zp"]), min_size=1).map(
        str.strip
    )
)
def test_whatever_somebody_writes_arrives_as_written(words: str) -> None:
    found = parse(f"Ada: {words}")
    assert found == Says("Ada", words)
