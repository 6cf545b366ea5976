"""`brimful plan` on a command line: units at the border, files, and one line for every mistake."""

import json
from datetime import UTC, datetime, timedelta

import pytest

import dosing
from bot.command import words
from bot.command.plan import main

NOW = "2027-03-01T09:00:00+00:00"
USUAL = ("--volume", "1300L", "--sanitizer", "chlorine", "--reading", "fc 1, ph 8.2, ta 200, ch 150, cya 20")

KIT = """
[[product]]
key = "alkalinity_plus"
substances = { sodium_bicarbonate = 0.98 }
density = 1.0
measures = { scoop = 40 }
label_max_g_per_1000l = 60

[[product]]
key = "liquid"
substances = { sodium_hypochlorite = 0.12 }
density = 1.2
form = "liquid"
measures = { cap = 50 }
"""


@pytest.fixture
def run(capsys):
    def go(*argv):
        code = main([*argv])
        out, err = capsys.readouterr()
        return code, out, err

    return go


@pytest.fixture
def planned(run):
    def go(*argv):
        code, out, err = run(*argv, "--json")
        assert (code, err) == (0, "")
        return json.loads(out)

    return go


def ago(**back):
    return (datetime.fromisoformat(NOW) - timedelta(**back)).isoformat()


def journal(path, *entries):
    path.write_text("\n".join(json.dumps(entry) for entry in entries), encoding="utf-8")
    return str(path)


def test_the_usual_call_prints_one_json_object(planned):
    made = planned(*USUAL)
    assert made["status"] == "plan"
    assert made["steps"][0]["substance"] == "sodium_bisulfate"


def test_without_json_a_person_reads_sentences_with_the_grams_of_the_plan(run, planned):
    code, out, _ = run(*USUAL)
    grams = planned(*USUAL)["steps"][0]["grams"]
    assert code == 0
    assert out.splitlines()[1].startswith(f"1. Add {grams:g} g of bisulfate")
    assert "No bathing now" in out


@pytest.mark.parametrize("volume", ["1300L", "1.3m3", "343.42369usgal", "285.95986impgal", "1300 l"])
def test_volume_is_the_same_water_in_every_unit(planned, volume):
    same = planned("--volume", volume, *USUAL[2:])
    assert [step["grams"] for step in same["steps"]] == [step["grams"] for step in planned(*USUAL)["steps"]]


def test_fahrenheit_is_celsius_at_the_border(planned):
    warm = planned(*USUAL, "--temp", "100.4F")
    assert warm["water"] == planned(*USUAL, "--temp", "38C")["water"]
    assert "temp" not in {it["key"] for it in warm["assumed"]}


@pytest.mark.parametrize(
    ("argv", "says"),
    [
        (("--volume", "300gal"), "300usgal or 300impgal"),
        (("--volume", "many"), "1300L"),
        (("--volume", "1300 buckets"), "L, m3, usgal, impgal"),
        (("--volume", "0L"), "1300L"),
        (("--reading", "ph 74"), "between 3 and 11"),
        (("--reading", "ph"), "ph 7.4"),
        (("--reading", "ph seven"), "7.2-7.8"),
        (("--reading", "phosphate 1"), "not a reading"),
        (("--reading", "ph 7, ph 8"), "twice"),
        (("--reading", " , "), "fc 1"),
        (("--temp", "warm"), "38C or 100F"),
        (("--temp", "300F"), "between 0C and 60C"),
        (("--sanitizer", "salt"), "chlorine"),
        (("--locale", "mars"), "us_cdc"),
        (("--purpose", "party"), "startup"),
        (("--method", "smell"), "drops"),
        (("--now", "yesterday"), "zone"),
        (("--now", "2027-03-01T09:00"), "zone"),
        (("--without", "magic"), "not in the kit"),
        (("--kit", "nowhere.toml"), "cannot be read"),
        (("--scale", "nowhere.toml"), "cannot be read"),
        (("--history", "nowhere.jsonl"), "cannot be read"),
        (("--unheard-of",), "unrecognized"),
    ],
)
def test_bad_input_is_one_line_and_exit_two(run, argv, says):
    code, out, err = run(*argv)
    assert (code, out) == (2, "")
    assert len(err.splitlines()) == 1
    assert says in err
    assert "Traceback" not in err


def test_nothing_given_is_asked_for(planned):
    made = planned()
    assert made["status"] == "ask"
    assert {"volume", "sanitizer", "reading"} <= set(made["asks"])


def test_a_kit_file_is_the_kit(planned, tmp_path):
    path = tmp_path / "kit.toml"
    path.write_text(KIT, encoding="utf-8")
    made = planned(
        "--volume",
        "1000L",
        "--sanitizer",
        "chlorine",
        "--reading",
        "fc 1, ph 7.2, ta 30",
        "--method",
        "drops",
        "--kit",
        str(path),
    )
    grams = {step["product"]: step["grams"] for step in made["steps"] if step["product"]}
    assert grams["alkalinity_plus"] == 60
    assert 0 < grams["liquid"] <= 4 / (0.12 * 0.95246)
    assert made["steps"][0]["measure"] == [{"count": 1.5, "name": "scoop"}]


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("key = ", "not TOML"),
        ("", "product"),
        ("[[product]]\nkey = 'a'\nsubstances = { gold = 1.0 }\ndensity = 1", "not a known substance"),
        ("[[product]]\nkey = 'a'\nsubstances = { sodium_bicarbonate = 2.0 }\ndensity = 1", "less than or equal to 1"),
        ("[[product]]\nkey = 'a'\nsubstances = { sodium_bicarbonate = 0.9 }", "density"),
        ("[[product]]\nkey = 'a'\ndensity = 1\ncolour = 'red'", "colour"),
        ("[[product]]\nkey = 'a'\ndensity = 1\n[[product]]\nkey = 'a'\ndensity = 1", "share a key"),
    ],
)
def test_a_kit_that_is_wrong_says_where(run, tmp_path, text, says):
    path = tmp_path / "kit.toml"
    path.write_text(text, encoding="utf-8")
    code, _, err = run(*USUAL, "--kit", str(path))
    assert code == 2
    assert says in err
    assert str(path) in err
    assert len(err.splitlines()) == 1


def test_a_scale_file_is_the_strips_chart(planned, tmp_path):
    path = tmp_path / "scale.toml"
    path.write_text('name = "wide"\n[pads]\nta = [0, 100, 200]\n', encoding="utf-8")
    made = planned(
        "--volume", "1000L", "--sanitizer", "chlorine", "--reading", "fc 4, ph 7.4, ta 100", "--scale", str(path)
    )
    assert (made["water"]["ta"]["low"], made["water"]["ta"]["high"]) == (50, 150)


@pytest.mark.parametrize(
    "text", ["name = 'x'\n[pads]\nph = [8, 7]", "name = 'x'\n[pads]\nsmell = [1, 2]", "[pads]\nph = [7, 8]"]
)
def test_a_scale_that_is_wrong_says_so(run, tmp_path, text):
    path = tmp_path / "scale.toml"
    path.write_text(text, encoding="utf-8")
    code, _, err = run(*USUAL, "--scale", str(path))
    assert code == 2
    assert len(err.splitlines()) == 1


def test_history_is_read_flat_and_as_journal_entries(planned, tmp_path):
    flat = journal(
        tmp_path / "flat.jsonl",
        {"at": ago(days=9), "kind": "fill"},
        {"at": ago(hours=4), "kind": "addition", "substances": {"sodium_dichlor": 60}},
        {"at": ago(hours=5), "kind": "cartridge"},
        {"at": ago(hours=3), "kind": "soak", "bathers": 2, "minutes": 20},
    )
    nested = journal(
        tmp_path / "nested.jsonl",
        {"key": "a", "at": ago(days=9), "fact": {"kind": "fill", "litres": 1300}},
        {"key": "b", "at": ago(hours=4), "fact": {"kind": "addition", "product": "dichlor", "grams": 60.6}},
        {
            "key": "c",
            "at": ago(hours=6),
            "fact": {"kind": "reading", "values": {"ph": {"kind": "value", "low": 7.4, "high": 7.4}}},
        },
    )
    for path in (flat, nested):
        made = planned(*USUAL[:4], "--reading", "fc 0, ph 7.4, ta 80", "--history", path, "--now", NOW)
        assert made["status"] == "ask"
        assert [doubt["code"] for doubt in made["doubts"]] == ["bleached_pad"]


def test_what_comes_after_now_is_not_history(planned, tmp_path):
    path = journal(
        tmp_path / "later.jsonl", {"at": ago(hours=-4), "kind": "addition", "substances": {"sodium_dichlor": 60}}
    )
    made = planned(*USUAL[:4], "--reading", "fc 0, ph 7.4, ta 80", "--history", path, "--now", NOW)
    assert made["doubts"] == []


def test_the_newest_reading_of_the_history_is_planned_for_and_an_old_one_is_not(planned, tmp_path):
    recent = journal(
        tmp_path / "a.jsonl", {"at": ago(hours=2), "kind": "reading", "values": {"fc": 4, "ph": "7.4", "ta": "60-90"}}
    )
    old = journal(
        tmp_path / "b.jsonl", {"at": ago(hours=40), "kind": "reading", "values": {"fc": 4, "ph": 7.4, "ta": 80}}
    )
    assert planned(*USUAL[:4], "--history", recent, "--now", NOW)["status"] == "fine"
    assert planned(*USUAL[:4], "--history", old, "--now", NOW)["asks"] == ["fresh_reading"]


def test_a_source_reading_belongs_to_its_fill(planned, tmp_path):
    path = journal(
        tmp_path / "source.jsonl",
        {
            "at": ago(days=90, hours=1),
            "kind": "reading",
            "source": True,
            "method": "drops",
            "values": {"ta": 60, "ch": 40},
        },
        {"at": ago(days=90), "kind": "fill"},
        *({"at": ago(days=day), "kind": "addition", "substances": {"sodium_dichlor": 20}} for day in range(1, 10)),
    )
    made = planned(*USUAL[:4], "--reading", "fc 4, ph 7.4, ta 80", "--history", path, "--now", NOW)
    assert made["steps"][0]["action"] == "drain"
    assert made["predicted"]["ta"]["mid"] < 75
    assert "fill_ta" not in {it["key"] for it in made["assumed"]}


@pytest.mark.parametrize(
    ("line", "says"),
    [
        ("{", "not JSON"),
        ("[]", "one JSON object"),
        ('{"at": "2027-01-01T00:00:00Z"}', "kind"),
        ('{"kind": "fill"}', "zone"),
        ('{"at": "2027-01-01T00:00:00", "kind": "fill"}', "zone"),
        ('{"at": "2027-01-01T00:00:00Z", "kind": "addition", "substances": {"gold": 1}}', "not a known substance"),
        ('{"at": "2027-01-01T00:00:00Z", "kind": "addition", "product": "magic", "grams": 3}', "no product"),
        ('{"at": "2027-01-01T00:00:00Z", "kind": "addition", "substances": {"sodium_dichlor": -3}}', "0 or more"),
        ('{"at": "2027-01-01T00:00:00Z", "kind": "reading", "values": {"ph": "acid"}}', "not a reading"),
        ('{"at": "2027-01-01T00:00:00Z", "kind": "reading", "values": 7}', "by key"),
        ('{"at": "2027-01-01T00:00:00Z", "kind": "reading", "values": {"ph": true}}', "no number"),
        ('{"at": "2027-01-01T00:00:00Z", "kind": "reading", "values": {}, "method": "nose"}', "strip, drops or meter"),
        ('{"at": "2027-01-01T00:00:00Z", "kind": "refill", "litres": "some"}', "line 1"),
        ('{"at": "2027-01-01T00:00:00Z", "kind": "addition", "substances": [1]}', "line 1"),
        ('{"at": "2027-01-01T00:00:00Z", "kind": "soak", "bathers": null}', "line 1"),
    ],
)
def test_a_bad_line_of_history_is_named(run, tmp_path, line, says):
    path = tmp_path / "past.jsonl"
    path.write_text(line, encoding="utf-8")
    code, out, err = run(*USUAL, "--history", str(path), "--now", NOW)
    assert (code, out) == (2, "")
    assert "line 1" in err
    assert says in err
    assert len(err.splitlines()) == 1


def test_without_takes_products_and_substances_several_times(planned):
    made = planned(*USUAL, "--without", "dichlor", "--without", "sodium_bisulfate")
    assert not {step["product"] for step in made["steps"]} & {"dichlor", "bisulfate"}
    assert "product_acid" in made["asks"]


def test_locale_purpose_and_method_reach_the_plan(planned):
    barred = planned(*USUAL[:4], "--reading", "fc 0, ph 7.4, ta 80", "--locale", "us_cdc", "--purpose", "startup")
    assert barred["steps"][0]["product"] == "hypochlorite"
    drops = planned(*USUAL, "--method", "drops")
    assert drops["water"]["ta"]["high"] - drops["water"]["ta"]["low"] == 20


def test_now_defaults_to_the_clock(planned, tmp_path):
    path = journal(
        tmp_path / "now.jsonl",
        {
            "at": (datetime.now(UTC) - timedelta(hours=1)).isoformat(),
            "kind": "reading",
            "values": {"fc": 4, "ph": 7.4, "ta": 80},
        },
    )
    assert planned(*USUAL[:4], "--history", path)["status"] == "fine"


@pytest.mark.parametrize(
    "argv",
    [
        ("--volume", "50m3", "--sanitizer", "chlorine", "--reading", "fc 1, ph 7.8"),
        ("--volume", "1500L", "--sanitizer", "chlorine", "--reading", "fc 1, ph 7.2, ta 70, cya >100"),
        ("--volume", "1500L", "--sanitizer", "chlorine", "--reading", "fc 10, ph 8.4, ta 70"),
        ("--volume", "1500L", "--sanitizer", "bromine", "--reading", "fc 2, ph 6.8, ta 30, th 60"),
        ("--volume", "1500L", "--sanitizer", "chlorine", "--reading", "fc 4, ph 7.4, ta 80", "--temp", "42C"),
        ("--volume", "1.5L", "--sanitizer", "chlorine", "--reading", "fc 4, tc 6, ph 7.4, ta 80"),
        (),
    ],
)
def test_every_kind_of_plan_is_told_in_whole_sentences(run, argv):
    code, out, _ = run(*argv)
    assert code == 0
    assert out.strip()
    assert "{" not in out
    assert "None" not in out


def test_there_is_a_sentence_for_every_code():
    assert set(words.WHYS) == set(dosing.WHY_CODES)
    assert set(words.CAUTIONS) == set(dosing.CAUTION_CODES)
    assert set(words.DOUBTS) == set(dosing.DOUBT_CODES)
    assert set(words.BATHING) == set(dosing.BATHING_CODES)
    assert set(words.ESCALATIONS) == set(dosing.ESCALATE_CODES)
    assert set(words.ASKS) == set(dosing.ASK_CODES)


def test_a_plan_is_drawn_into_a_file_beside_what_is_printed(run, planned, tmp_path):
    picture = tmp_path / "plan.png"
    code, out, err = run(*USUAL, "--picture", str(picture), "--json")
    assert (code, err) == (0, "")
    assert json.loads(out) == planned(*USUAL)
    assert picture.read_bytes().startswith(b"\x89PNG")


def test_a_picture_needs_no_volume_where_nothing_is_added(run, tmp_path):
    picture = tmp_path / "plan.png"
    assert run("--sanitizer", "chlorine", "--reading", "fc 1, ph 8.2, ta 200", "--picture", str(picture))[0] == 0
    assert picture.exists()


@pytest.mark.parametrize("reading", [[], ["--reading", "fc 1"], ["--reading", "fc 1, ta 90"]])
def test_a_plan_without_a_place_on_the_plane_is_printed_and_said_to_have_none(run, tmp_path, reading):
    picture = tmp_path / "plan.png"
    code, out, err = run(*USUAL[:4], *reading, "--picture", str(picture))
    assert code == 0
    assert "Still wanted" in out
    assert err == "brimful plan: no picture: a plan can be drawn only where pH and alkalinity are known\n"
    assert not picture.exists()


def test_a_picture_that_cannot_be_written_is_one_sentence(run, tmp_path):
    for name, wrong in {"plan.jpg": "ends in .png", "none/plan.png": "no folder"}.items():
        code, out, err = run(*USUAL, "--picture", str(tmp_path / name))
        assert (code, out) == (2, "")
        assert wrong in err
        assert err.count("\n") == 1
    folder = tmp_path / "folder.png"
    folder.mkdir()
    code, out, err = run(*USUAL, "--picture", str(folder))
    assert code == 2
    assert "cannot be written" in err
