"""`brimful invites`: who has not joined, cards for them, and taking invites back."""

from pathlib import Path

import pytest

from bot.cli import main


@pytest.fixture(autouse=True)
def house(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Path:
    (tmp_path / "dealer.toml").write_text('key = "house"\nname = "Tidewell Tubs"\nzone = "Europe/Berlin"\n')
    (tmp_path / "owners.csv").write_text("name,phone\nAnna Muster,0171 3920012\nJan Probe,0171 3920013\n")
    monkeypatch.setenv("BRIMFUL_DEALER", str(tmp_path / "dealer.toml"))
    monkeypatch.setenv("BRIMFUL_DATABASE", str(tmp_path / "brimful.sqlite3"))
    monkeypatch.setenv("BRIMFUL_BOT", "@tidewell_bot")
    assert main(["import", str(tmp_path / "owners.csv"), "--yes"]) == 0
    return tmp_path


def test_the_list_says_who_has_not_joined_and_how_they_could(house: Path, capsys: pytest.CaptureFixture[str]):
    assert main(["invites", "list", "--csv", str(house / "list.csv")]) == 0
    out = capsys.readouterr().out
    assert "2 not joined" in out
    assert "Anna Muster" in out
    assert len((house / "list.csv").read_text(encoding="utf-8-sig").splitlines()) == 3


def test_cards_are_printed_once_for_each_and_their_links_stored_nowhere(
    house: Path, capsys: pytest.CaptureFixture[str]
):
    out, links = house / "cards.pdf", house / "links.csv"
    assert main(["invites", "print", str(out), "--csv", str(links)]) == 0
    assert out.read_bytes().startswith(b"%PDF")
    rows = links.read_text(encoding="utf-8-sig").splitlines()
    assert rows[1].startswith("Anna Muster,+49 171")
    link = rows[1].split(",")[-1]
    assert link.startswith("https://t.me/tidewell_bot?start=")
    stored = b"".join(path.read_bytes() for path in house.glob("brimful.sqlite3*"))
    assert link.rpartition("=")[2].encode() not in stored
    capsys.readouterr()
    assert main(["invites", "print", str(out)]) == 0
    assert "Nobody" in capsys.readouterr().out
    assert main(["invites", "print", str(out), "--again"]) == 0
    assert "2 cards" in capsys.readouterr().out


def test_invites_are_withdrawn_by_name_or_all(house: Path, capsys: pytest.CaptureFixture[str]):
    assert main(["invites", "print", str(house / "cards.pdf")]) == 0
    capsys.readouterr()
    assert main(["invites", "withdraw", "anna muster"]) == 0
    assert capsys.readouterr().out == "1 withdrawn\n"
    assert main(["invites", "withdraw", "--all"]) == 0
    assert capsys.readouterr().out == "1 withdrawn\n"


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (["withdraw"], "withdraw whose"),
        (["withdraw", "Nobody Known"], "nobody called"),
        (["print", "x.pdf", "--days", "0"], "1 to 365 days"),
    ],
)
def test_bad_input_gets_one_sentence(capsys: pytest.CaptureFixture[str], arguments: list[str], says: str):
    capsys.readouterr()
    assert main(["invites", *arguments]) == 2
    assert says in capsys.readouterr().err


def test_without_the_bot_s_name_there_is_no_link_to_print(
    house: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
):
    monkeypatch.delenv("BRIMFUL_BOT")
    assert main(["invites", "print", str(house / "cards.pdf")]) == 2
    assert "BRIMFUL_BOT" in capsys.readouterr().err
