"""`brimful rehearse` holds a conversation for people and for programs, as its contract says."""

import json
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from bot.command.rehearse import main

ROOT = Path(__file__).parents[2]
HEAD = """\
at 2027-03-01T09:00 America/Chicago
cast dealer Ines
cast tech Tom
cast owner Ada volume=1300L sanitizer=chlorine
"""


@pytest.fixture
def played(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Any:
    """Plays a script with --json; gives its objects, and keeps the exit code and what was complained of."""

    class Played:
        code = -1
        complaint = ""

        def __call__(self, script: str, *options: str) -> list[dict[str, Any]]:
            file = tmp_path / "script"
            file.write_text(script, encoding="utf-8")
            self.code = main([str(file), "--json", *options])
            out = capsys.readouterr()
            self.complaint = out.err
            return [json.loads(line) for line in out.out.splitlines()]

    return Played()


def messages(objects: list[dict[str, Any]], to: str = "Ada") -> list[dict[str, Any]]:
    return [one for one in objects if one.get("to") == to]


def facts(objects: list[dict[str, Any]], kind: str) -> list[dict[str, Any]]:
    return [one for one in objects if one.get("fact") == kind]


def test_every_line_is_followed_by_ready(played: Any) -> None:
    script = HEAD + "# a comment\n\nAda: my tub\n"
    assert sum("ready" in one for one in played(script)) == len(script.splitlines())


def test_a_message_has_the_fields_of_the_contract(played: Any) -> None:
    objects = played(HEAD + "Ada: fc 1, ph 8.4, ta 180\n")
    (message,) = messages(objects)
    assert set(message) == {
        "at", "to", "lane", "text", "buttons", "asks", "dose", "wait_minutes", "picture", "document"
    }  # fmt: skip
    assert message["lane"] == "reply"
    assert message["asks"].startswith("did.")
    assert set(message["dose"]) == {"product", "grams", "substances"}
    assert message["dose"]["grams"] > 0
    assert "Done" in message["buttons"]
    assert message["at"].startswith("2027-03-01T15:00")


def test_facts_say_whose_they_are_and_in_the_words_of_a_script(played: Any) -> None:
    objects = played(HEAD + "Ada: fc 1, ph between 7.2 and 7.8, ta 180\nAda [Done]\n")
    (reading,) = facts(objects, "reading")
    assert (reading["of"], reading["values"]) == ("Ada", {"fc": "1", "ph": "7.2-7.8", "ta": "180"})
    (plan,) = facts(objects, "plan")
    assert plan["plan"]["status"] == "plan"
    (addition,) = facts(objects, "addition")
    assert addition["substances"]


def test_a_fact_that_staff_tell_is_its_owners(played: Any) -> None:
    objects = played(HEAD + "Ada: I got an electric shock in the water\nTom [Clear it]\n")
    (cleared,) = facts(objects, "cleared")
    assert (cleared["of"], cleared["told_by"]) == ("Ada", "Tom")
    assert messages(objects, "Tom")[0]["lane"] == "alert"


def test_everything_on_the_way_happens_at_its_own_time(played: Any) -> None:
    objects = played(HEAD + "journal Ada 2027-02-28T18:00 reading fc 3 ph 7.4 ta 80\nwait 30d\n")
    moments = [one["at"] for one in messages(objects)]
    assert moments == sorted(moments)
    assert len(set(moments)) > 2
    assert all(one["lane"] == "reminder" for one in messages(objects))


def test_answers_by_key_work_in_any_language_and_taps_find_the_newest_button(played: Any) -> None:
    objects = played(
        HEAD + "Ada: test\nAda [Nobody]\nAda answer fc 3\nAda answer ph 7.4\nAda answer ta 80\nAda answer ch 120\n"
    )
    (reading,) = facts(objects, "reading")
    assert reading["values"] == {"fc": "3", "ph": "7.4", "ta": "80", "ch": "120"}


def test_a_restart_in_the_middle_changes_nothing(played: Any) -> None:
    lines = ["Ada: test", "Ada [Nobody]", "Ada answer fc 1", "Ada answer ph 8.4", "Ada answer ta 180", "Ada [Done]"]
    script = HEAD + "\n".join(lines) + "\nwait 2h\n"
    restarts = HEAD + "\nrestart\n".join(lines) + "\nrestart\nwait 2h\n"
    told = [[one["text"] for one in messages(played(text))] for text in (script, restarts)]
    assert told[0] == told[1]


def test_somebody_without_an_invite_stays_outside_and_an_invited_one_comes_in(played: Any) -> None:
    objects = played(HEAD + "cast stranger Zed\ncast invited Eve volume=900L\nZed: hello\nEve: hello\n")
    assert "invite" in messages(objects, "Zed")[0]["text"]
    assert messages(objects, "Eve")[0]["asks"] == "agree"


def test_two_people_share_a_tub(played: Any) -> None:
    objects = played(HEAD + "cast owner Bo tub=Ada\nAda: fc 3 ph 7.4 ta 80\nBo: history\n")
    assert "free chlorine 3" in messages(objects, "Bo")[0]["text"]


def test_who_blocks_the_bot_gets_nothing_until_they_let_it_in_again(played: Any) -> None:
    script = HEAD + "Ada: my tub\nAda blocks\nwait 30d\nAda unblocks\nAda: my tub\n"
    moments = [one["at"][:10] for one in messages(played(script))]
    assert moments == ["2027-03-01", "2027-03-31"]


def test_files_arrive_as_what_they_are(played: Any) -> None:
    objects = played(HEAD + "Ada < strip.jpg\nAda < note.ogg\nAda < manual.pdf\n")
    assert [note["text"] for note in facts(objects, "note")] == ["[photo]", "[voice]", "[document]"]


def test_a_language_and_a_zone_of_ones_own_are_kept(played: Any) -> None:
    objects = played(
        HEAD + "cast owner Lea volume=1m3 sanitizer=bromine zone=Europe/Paris units=us\nLea: my tub\nwait 8d\n"
    )
    assert "264 US gal" in messages(objects, "Lea")[0]["text"]
    assert {one["at"][11:13] for one in messages(objects, "Lea") if one["lane"] == "reminder"} == {"15"}


def test_kit_and_strip_come_from_files(played: Any, tmp_path: Path) -> None:
    kit, strip = tmp_path / "kit.toml", tmp_path / "strip.toml"
    kit.write_text(
        '[[product]]\nkey = "sparkle"\nsubstances = { sodium_dichlor = 0.9 }\ndensity = 1.0\n', encoding="utf-8"
    )
    strip.write_text(
        'name = "two pads"\n[pads]\nfc = [0, 2, 4]\nph = [6.8, 7.4, 8.0]\nta = [0, 90, 180]\n', encoding="utf-8"
    )
    script = f"at 2027-03-01T09:00 UTC\ncast owner Ada volume=1300L sanitizer=chlorine kit={kit} strip={strip}\n"
    objects = played(script + "journal Ada 2027-02-28T18:00 added sparkle 10g\nAda: test\nAda [Nobody]\nAda: history\n")
    assert messages(objects)[1]["buttons"][:3] == ["0", "2", "4"]
    assert facts(objects, "addition")[0]["substances"] == {"sodium_dichlor": 9.0}


def test_the_past_is_written_before_the_conversation_begins(played: Any) -> None:
    past = (
        "journal Ada 2027-02-20T18:00 filled\n"
        "journal Ada 2027-02-20T19:00 added sodium_dichlor 15g\n"
        "journal Ada 2027-02-21T19:00 soaked 3x30min\n"
        "journal Ada 2027-02-22T19:00 cartridge\n"
        "journal Ada 2027-02-23T19:00 filter soak\n"
        "journal Ada 2027-02-24T19:00 reading drops fc <1 ph 7.2-7.8\n"
    )
    objects = played(HEAD + past + "Ada: history\n")
    kinds = [one["fact"] for one in objects if "fact" in one]
    assert kinds[1:] == ["fill", "addition", "soak", "cartridge", "filter", "reading"]
    assert "filter soaked" in messages(objects)[0]["text"]


@pytest.mark.parametrize(
    ("line", "says"),
    [
        ("Ada [Nope]", r"line 5: .*\[Nope\]"),
        ("Kim: hello", "line 5: nobody called Kim"),
        ("cast owner Kim volume=400gal sanitizer=chlorine", "line 5: .*usgal or 400impgal"),
        ("cast owner Kim volume=1300L", "line 5: .*sanitizer"),
        ("cast owner Kim volume=1300L sanitizer=salt", "line 5: sanitizer"),
        ("cast owner Kim volume=1300L sanitizer=chlorine zone=Paris", "line 5: .*Europe/Paris"),
        ("cast owner Kim volume=1300L sanitizer=chlorine colour=red", "line 5: 'colour' is no attribute"),
        ("cast owner Kim volume=1300L sanitizer=chlorine kit=nowhere.toml", "line 5: .*nowhere.toml cannot be read"),
        ("cast owner Kim volume=900L sanitizer=chlorine filled=2030-01-01", "line 5: filled=2030-01-01 lies ahead"),
        ("cast owner Kim volume=900L sanitizer=chlorine quiet=night", "line 5: .*as in 21:00-08:00"),
        ("cast owner Kim volume=900L sanitizer=chlorine pumps=two", "line 5: .*as in pumps=2"),
        ("cast owner Kim volume=900L sanitizer=chlorine heater=big", "line 5: .*as in heater=2kW"),
        ("cast owner Kim volume=900L sanitizer=chlorine soaks=often", "line 5: .*as in soaks=2.5"),
        ("cast owner Kim volume=900L sanitizer=chlorine lang=7", "line 5: .*such as en"),
        ("cast owner Ada volume=1300L sanitizer=chlorine", "line 5: Ada takes part already"),
        ("cast owner Kim tub=Lou", "line 5: Lou has no tub"),
        ("journal Ada 2028-01-01T09:00 filled", "line 5: .*ahead of the clock"),
        ("journal Ada 2027-01-01T09:00 exploded", "line 5: 'exploded'"),
        ("journal Ada 2027-01-01T09:00 added sugar 5g", "line 5: 'sugar'"),
        ("journal Ada 2027-01-01T09:00 reading ph acid", "line 5: 'acid' is not a reading"),
        ("at 2027-03-01T09:00 UTC", "line 5: the clock is set once"),
        ("hello", "line 5: 'hello' is no line"),
    ],
)
def test_a_bad_line_is_named_with_its_number_and_ends_the_rehearsal(played: Any, line: str, says: str) -> None:
    import re

    objects = played(f"{HEAD}{line}\nAda: my tub\n")
    assert played.code == 2
    assert re.match(says, played.complaint), played.complaint
    assert len(played.complaint.splitlines()) == 1
    assert messages(objects) == []


def test_a_script_begins_with_its_clock(played: Any) -> None:
    played("cast dealer Ines\n")
    assert (played.code, played.complaint[:6]) == (2, "line 1")


def test_a_database_can_be_kept_and_gone_on_with(played: Any, tmp_path: Path) -> None:
    database = tmp_path / "kept.sqlite3"
    played(HEAD + "Ada: fc 3 ph 7.4 ta 80\n", "--db", str(database))
    objects = played(HEAD.replace("03-01", "03-02") + "Ada: history\n", "--db", str(database))
    assert "free chlorine 3" in messages(objects)[0]["text"]


def test_a_missing_script_is_one_sentence(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["nowhere.rehearsal"]) == 2
    assert "nowhere.rehearsal cannot be read" in capsys.readouterr().err


def test_the_transcript_shows_words_buttons_and_times(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    file = tmp_path / "script"
    file.write_text(HEAD + "# The first test.\nAda: fc 3 ph 7.4 ta 80\nwait 8d\n", encoding="utf-8")
    assert main([str(file)]) == 0
    shown = capsys.readouterr().out
    assert "Monday 01 March 2027, 09:00" in shown
    assert "The first test." in shown
    assert "to Ada (reminder):" in shown
    assert "[Done] [Later] [Not mine]" in shown
    assert "reading fc 3, ph 7.4, ta 80" in shown
    assert max(map(len, shown.splitlines())) <= 88


def test_another_program_can_hold_the_conversation_line_by_line() -> None:
    command = [sys.executable, "-m", "bot", "rehearse", "-", "--json"]
    with subprocess.Popen(
        command, cwd=ROOT, stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.PIPE, encoding="utf-8"
    ) as process:
        assert process.stdin
        assert process.stdout

        def say(line: str) -> list[dict[str, Any]]:
            assert process.stdin
            assert process.stdout
            process.stdin.write(line + "\n")
            process.stdin.flush()
            heard = []
            while not (heard and heard[-1].get("ready")):
                heard.append(json.loads(process.stdout.readline()))
            return heard

        for line in HEAD.splitlines():
            say(line)
        asked = messages(say("Ada: test"))[0]["asks"]
        assert asked == "soaks"
        assert messages(say("Ada answer soaks 0"))[0]["asks"] == "fc"
        process.stdin.write("nonsense\n")
        process.stdin.close()
        assert process.wait(20) == 2
        assert process.stderr
        assert process.stderr.read().startswith("line 7:")


def test_facts_of_the_cast_and_of_history_come_right_after_their_line(played: Any) -> None:
    script = (
        HEAD.replace("sanitizer=chlorine", "sanitizer=chlorine filled=2027-02-01")
        + "journal Ada 2027-02-20T18:00 reading fc 3 ph 7.6 ta 90\njournal Ada 2027-02-21T18:00 filter rinse\n"
        + "Ada: my tub\n"
    )
    told: list[list[str]] = [[]]
    for one in played(script):
        if "ready" in one:
            told.append([])
        elif "fact" in one:
            told[-1].append(one["fact"])
    assert told[3:6] == [["fill", "started"], ["reading"], ["filter"]]
    assert not told[6]


GROUP = HEAD + "cast tech Una\ncast group Crew\n"


def test_the_dealer_s_people_work_on_a_case_in_a_group_across_a_restart(played: Any) -> None:
    objects = played(
        GROUP
        + "Ada: person\nAda: may I use an old cover?\nTom@Ada [Take it]\nrestart\nTom@Ada: It leaks heat.\n"
        + "Una@Ada: I agree\nAda < photo.jpg\nTom@Ada [Close it]\nTom@Ada [Solved]\nTom@Ada [Skip]\n"
    )
    assert played.complaint == ""
    assert "It leaks heat." in messages(objects)[-3]["text"]
    crew = messages(objects, "Crew")
    assert {message["topic"] for message in crew} == {"Ada: may I use an old cover?"}
    assert "Take it" in crew[0]["buttons"]
    assert any(message["document"] == "photo.jpg" for message in crew)
    assert "Reason: Solved" in crew[-1]["text"]
    assert messages(objects, "Tom") == messages(objects, "Una") == []
    assert [fact["reason"] for fact in facts(objects, "cleared")] == ["solved"]


def test_a_group_that_shuts_the_bot_out_and_one_without_topics_can_be_rehearsed(played: Any) -> None:
    asked = "Ada: person\nAda: may I use an old cover?\nTom@Ada [Take it]\n"
    objects = played(GROUP + asked + "Crew blocks\nAda: hello?\n")
    assert "hello?" in messages(objects, "Tom")[-1]["text"]
    objects = played(HEAD + "cast group Crew topics=no\n" + asked + "Tom@Ada: It leaks heat.\nTom@Crew: lunch?\n")
    assert "It leaks heat." in messages(objects)[-1]["text"]
    assert "Topics are off" in messages(objects, "Ines")[-1]["text"]


@pytest.mark.parametrize(
    ("line", "says"),
    [
        ("Crew: hello", "line 7: Crew is a group; somebody speaks in it"),
        ("Tom@Ada: hello", "line 7: Tom@Ada: Ada has no case yet"),
        ("Zed@Ada: hello", "line 7: nobody called Zed@Ada"),
        ("cast group Two", "line 7: Crew is the dealer's group already"),
        ("cast group Two volume=3", "line 7: 'volume' is no attribute here; these are: lang, topics"),
    ],
)
def test_what_a_group_cannot_do_is_said(played: Any, line: str, says: str) -> None:
    played(GROUP + line + "\n")
    assert (played.code, played.complaint[: len(says)]) == (2, says)


def test_without_a_group_nobody_speaks_in_one(played: Any) -> None:
    played(HEAD + "Tom@Ada: hello\n")
    assert "there is no group to speak in" in played.complaint
