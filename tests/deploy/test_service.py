"""The service file, the environment example and the container file say what the program understands."""

import configparser
import re
import shutil
import subprocess
from pathlib import Path

import pytest

from bot.settings import PREFIX, Settings

DEPLOY = Path(__file__).parents[2] / "deploy"


def unit(name: str = "brimful.service") -> configparser.ConfigParser:
    parser = configparser.ConfigParser(strict=False, interpolation=None)
    parser.optionxform = str  # type: ignore[assignment,method-assign]
    parser.read(DEPLOY / name, encoding="utf-8")
    return parser


def test_the_unit_runs_the_service_and_starts_it_again() -> None:
    service = unit()["Service"]
    assert service["ExecStart"].endswith("deploy/run.py serve")
    assert service["Restart"] == "always"
    assert service["EnvironmentFile"] == "/etc/brimful/environment"
    assert service["NoNewPrivileges"] == service["DynamicUser"] == "yes"


def test_the_backup_is_made_every_night_by_the_same_user_on_the_same_file() -> None:
    backup, service = unit("brimful-backup.service")["Service"], unit()["Service"]
    assert backup["ExecStart"].endswith("deploy/run.py backup")
    assert {name: backup[name] for name in ("User", "DynamicUser", "StateDirectory", "EnvironmentFile")} == {
        name: service[name] for name in ("User", "DynamicUser", "StateDirectory", "EnvironmentFile")
    }
    assert unit("brimful-backup.timer")["Timer"]["Persistent"] == "true"


@pytest.mark.parametrize("name", ["brimful.service", "brimful-backup.service", "brimful-backup.timer"])
def test_systemd_finds_no_fault_with_the_unit(name: str) -> None:
    verify = shutil.which("systemd-analyze")
    if verify is None:
        assert set(unit(name).sections()) >= {"Unit"}
        return
    done = subprocess.run([verify, "verify", str(DEPLOY / name)], capture_output=True, text=True, check=False)
    assert (done.returncode, done.stderr) == (0, "")


def test_every_setting_is_in_the_example_and_the_other_way_round() -> None:
    text = (DEPLOY / "environment.example").read_text(encoding="utf-8")
    named = set(re.findall(rf"^#?({PREFIX}\w+)=", text, re.MULTILINE))
    assert named == {PREFIX + name.upper() for name in Settings.model_fields}


def test_the_container_runs_as_nobody_special_and_keeps_its_data_outside() -> None:
    text = (DEPLOY / "Containerfile").read_text(encoding="utf-8")
    assert re.search(r"^USER brimful$", text, re.MULTILINE)
    assert re.search(r"^VOLUME /data$", text, re.MULTILINE)
    assert "--require-hashes" in text
