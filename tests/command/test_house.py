"""The dealer's file: every fault has its line, a good change holds at once, a bad one never does."""

import logging
import tomllib
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bot.cli import main
from bot.command.dealer import BadHouse, read_dealer
from bot.command.toml_lines import line_of, lines_of
from bot.command.watch_house import HouseFile
from bot.store.sqlite import SqliteStore

EXAMPLE = Path(__file__).parents[2] / "deploy" / "dealer.example.toml"
GOOD = 'key = "house"\nname = "Tidewell Tubs"\nzone = "Europe/Berlin"\n'


def faults(tmp_path: Path, text: str) -> list[str]:
    file = tmp_path / "dealer.toml"
    file.write_text(text, encoding="utf-8")
    with pytest.raises(BadHouse) as refused:
        read_dealer(file)
    return refused.value.faults


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ('nmae = "x"\n', "line 4: nmae is no setting; did you mean name?"),
        ('language = "it"\n', "line 4: language is 'it'; it is one of en, de"),
        ('locale = "mars"\n', "line 4: locale is 'mars'; it is one of default"),
        ('country = "Germany"\n', "line 4: country is 'Germany'"),
        ("start_order = [\n  'balance',\n  'magic',\n]\n", "line 4: start_order.2 is 'magic'; it should be"),
        ("[intervals]\n\ntest = 99\n", "line 6: intervals.test is 99; it should be less than or equal to 14"),
        ("[contacts]\nemergancy = '911'\n", "line 5: contacts.emergancy is no setting; did you mean emergency?"),
        ("[quiet]\nstart = 'late'\n", "line 5: quiet.start is 'late'"),
        ("[[model]]\nname='A5'\n[[model]]\nname='A6'\nvolume=13500\n", "line 8: model.2.volume is 13500"),
        ("[[model]]\nvolume=1350\n", "line 4: model.1.name is missing"),
        ("[[product]]\nkey='x'\ndensity=1\n[[product]]\nkey='y'\ndensity=0\n", "line 9: product.2.density is 0"),
        ("[[product]]\nkey='x'\ndensity=1\npack_g=0\n", "line 7: product.1.pack_g is 0"),
        ("[supplies]\nweeks=0\n", "line 5: supplies.weeks is 0"),
        ("[[product]]\nkey='x'\ndensity=1\nsubstances={salt=1.0}\n", "line 4: 'salt' is not a known substance"),
        ("[strip]\nname='s'\n[strip.pads]\nph=[7, 6]\n", "line 4: the blocks of 'ph'"),
        ("[[answers]]\ntitle='Foam'\ntext={en='Hello {nam}'}\n", "line 6: answers.1.text: en: in braces only"),
        ("[words.greeting]\nen=''\n", "line 4: words.greeting: en: a sentence of 1 to 300"),
        ("[words]\ngreting={}\n", "line 5: words.greting is no setting; did you mean greeting?"),
        ("kit='kit.toml'\n[[product]]\nkey='x'\n", "line 4: products stand both here and in a file"),
    ],
)
def test_a_fault_names_its_line_and_what_is_expected(tmp_path: Path, text: str, says: str) -> None:
    [fault] = faults(tmp_path, GOOD + text)
    assert fault.startswith(says)


def test_every_fault_is_reported_in_the_order_of_the_file(tmp_path: Path) -> None:
    found = faults(tmp_path, GOOD + 'language = "it"\n[intervals]\ntest = 99\nsoak = "often"\n')
    assert [fault.split(":")[0] for fault in found] == ["line 4", "line 6", "line 7"]


def test_text_that_is_not_toml_says_where(tmp_path: Path) -> None:
    [fault] = faults(tmp_path, GOOD + "name =\n")
    assert "line 4" in fault


def test_the_example_can_be_used_with_and_without_what_is_commented_out(tmp_path: Path) -> None:
    text = EXAMPLE.read_text(encoding="utf-8")
    assert read_dealer(EXAMPLE).name == "Tidewell Tubs"
    lines = [line.removeprefix("#") if line[1:2].isalpha() or line[1:2] == "[" else line for line in text.splitlines()]
    file = tmp_path / "all.toml"
    file.write_text("\n".join(line for line in lines if not line.startswith(("kit =", "strip ="))), encoding="utf-8")
    dealer = read_dealer(file)
    assert (dealer.models[0].name, dealer.models[0].volume) == ("Model A5", 1350)
    assert [product.key for product in dealer.kit.products] == ["alkalinity_plus"]
    assert dealer.scale.name == "six-way strip"
    assert dealer.words.greeting["en"].startswith("Good to have you")


VALUES = st.sampled_from(["1", '"# no comment ["', "'a]b'", '"""\n[not a table]\nb = 2\n"""', "[\n 1, # [\n 2,\n]"])


@given(st.lists(st.tuples(st.sampled_from(["", "[t{n}]", "[[rows]]", "[rows2.in{n}]"]), VALUES), max_size=8))
def test_every_key_of_any_file_is_found_on_the_line_where_it_stands(parts: list[tuple[str, str]]) -> None:
    rows: list[str] = []
    marks: list[tuple[int, str]] = []
    for number, (table, value) in enumerate(parts):
        if table:
            rows.append(table.format(n=number))
        marks.append((sum(row.count("\n") + 1 for row in rows) + 1, f"key{number}"))
        rows.append(f"key{number} = {value} # comment [ {{")
    text = "\n".join(rows) + "\n"
    tomllib.loads(text)
    lines = lines_of(text)
    assert sorted((at, str(where[-1])) for where, at in lines.items() if str(where[-1]).startswith("key")) == marks


def test_what_stands_inside_a_value_is_on_the_line_of_its_key() -> None:
    lines = lines_of('a = 1\n[t]\n"b c" = {d = 1}\n[[r]]\n[[r]]\nx.y = 2\n')
    assert line_of(lines, ("t", "b c", "d")) == 3
    assert line_of(lines, ("r", 1, "x", "y")) == 6
    assert line_of(lines, ("r", 1, "z")) == 5
    assert line_of(lines, ("nothing",)) is None


def test_the_check_says_what_a_file_sets_and_exits_with_2_where_it_is_bad(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    file = tmp_path / "dealer.toml"
    file.write_text(GOOD)
    assert main(["house", "check", str(file)]) == 0
    assert "This file can be used" in capsys.readouterr().out
    file.write_text(GOOD + 'language = "it"\nlocale = "mars"\n')
    monkeypatch.setenv("BRIMFUL_DEALER", str(file))
    assert main(["house", "check"]) == 2
    assert capsys.readouterr().err.count("line ") == 2
    assert main(["house", "check", str(tmp_path / "none.toml")]) == 2
    monkeypatch.delenv("BRIMFUL_DEALER")
    assert main(["house", "check"]) == 2


class Kept:
    """A running house's store and its dealer's file."""

    def __init__(self, folder: Path) -> None:
        self.path = folder / "dealer.toml"
        self.path.write_text(GOOD)
        self.store = SqliteStore(folder / "brimful.db")

    async def open(self) -> HouseFile:
        await self.store.open()
        dealer = read_dealer(self.path)
        await self.store.put_dealer(dealer)
        return HouseFile(self.path, dealer, self.store)

    async def name(self) -> str:
        [dealer] = await self.store.dealers()
        return dealer.name


async def test_a_good_change_holds_at_once_and_a_look_at_nothing_new_does_nothing(tmp_path: Path) -> None:
    kept = Kept(tmp_path)
    file = await kept.open()
    assert not await file.look()
    kept.path.write_text(GOOD.replace("Tidewell Tubs", "Tidewell & Daughter"))
    assert await file.look()
    assert await kept.name() == "Tidewell & Daughter"
    assert not await file.look()
    await kept.store.close()


@pytest.mark.parametrize("bad", ["", "name =", GOOD + "[intervals]\ntest = 99\n", GOOD.replace("house", "other"), None])
async def test_a_bad_change_is_reported_once_and_replaces_nothing(
    tmp_path: Path, caplog: pytest.LogCaptureFixture, bad: str | None
) -> None:
    kept = Kept(tmp_path)
    file = await kept.open()
    if bad is None:
        kept.path.unlink()
    else:
        kept.path.write_text(bad)
    with caplog.at_level(logging.ERROR):
        assert not await file.look()
        reported = len(caplog.records)
        assert not await file.look()
    assert reported == len(caplog.records) > 0
    assert await kept.name() == "Tidewell Tubs"
    kept.path.write_text(GOOD.replace("Tidewell Tubs", "Better"))
    assert await file.look()
    assert await kept.name() == "Better"
    await kept.store.close()


async def test_a_change_in_a_file_that_it_names_counts_too(tmp_path: Path) -> None:
    kept = Kept(tmp_path)
    strip = tmp_path / "strip.toml"
    strip.write_text('name = "old"\n[pads]\nph = [6, 7]\n')
    kept.path.write_text(GOOD + 'strip = "strip.toml"\n')
    file = await kept.open()
    strip.write_text('name = "new"\n[pads]\nph = [6, 7]\n')
    assert await file.look()
    assert file.dealer.scale.name == "new"
    await kept.store.close()
