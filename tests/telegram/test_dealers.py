"""Several dealers in one service: each its own bot, and nobody hears another's."""

import asyncio
import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest

from bot.channels.telegram import TelegramChannel
from bot.run.clock import WallClock
from bot.run.house import House
from bot.run.seat import Seat
from bot.store.sqlite import SqliteStore
from tests.botapi import Background, BotApi, Limits, serve
from tests.run.scenes import echo, sorry
from tests.store.samples import NORTH, SOUTH

ROOT = Path(__file__).parents[2]


def channel(api: BotApi, dealer: str) -> TelegramChannel:
    return TelegramChannel(api.token, dealer, now=WallClock().now, api_url=api.url, poll_seconds=5, album_seconds=0.1)


async def test_who_writes_to_one_dealer_s_bot_is_answered_by_that_bot_alone(tmp_path: Path):
    store = SqliteStore(tmp_path / "b.db")
    await store.open()
    for dealer in (NORTH, SOUTH):
        await store.put_dealer(dealer)
    await store.close()
    async with serve(BotApi(limits=Limits.none())) as north, serve(BotApi(limits=Limits.none())) as south:
        seats = [Seat(channel(north, "north"), "north"), Seat(channel(south, "south"), "south")]
        stop = asyncio.Event()
        running = asyncio.create_task(House(store, seats, echo, sorry).serve(WallClock(), stop))
        one, other = north.person("Ada"), south.person("Ada")
        assert one.id == other.id
        one.writes("hello north")
        other.writes("hello south")
        await north.until(lambda: bool(one.texts))
        await south.until(lambda: bool(other.texts))
        stop.set()
        await running
        assert (one.texts, other.texts) == (["hello north (1)"], ["hello south (1)"])


@pytest.mark.timeout(240)
def test_a_dealer_whose_token_is_refused_does_not_silence_the_others(tmp_path: Path):
    folder = tmp_path / "dealers"
    folder.mkdir()
    for key in ("north", "south"):
        (folder / f"{key}.toml").write_text(f'key = "{key}"\nname = "{key} tubs"\n', encoding="utf-8")
    with Background(BotApi()) as api, (tmp_path / "log").open("w") as log:
        ours = {
            "BRIMFUL_DATABASE": str(tmp_path / "b.sqlite3"),
            "BRIMFUL_DEALER": str(folder),
            "BRIMFUL_API_URL": api.url,
            "BRIMFUL_TOKEN_NORTH": "1:wrong-one",
            "BRIMFUL_TOKEN_SOUTH": api.token,
        }
        environment = {name: value for name, value in os.environ.items() if not name.startswith("BRIMFUL_")} | ours
        process = subprocess.Popen(
            [sys.executable, "-m", "bot", "serve"], cwd=ROOT, env=environment, stdout=log, stderr=log
        )
        try:
            ada = api.person("Ada")
            ada.writes("hello")
            api.wait(lambda: bool(ada.texts), within=120)
            process.send_signal(signal.SIGTERM)
            assert process.wait(timeout=30) == 0
        finally:
            process.kill()
    said = (tmp_path / "log").read_text(encoding="utf-8")
    assert "dealer north: the service refuses the token" in said
    assert "wrong-one" not in said
    assert "Traceback" not in said


@pytest.mark.parametrize(
    ("files", "tokens", "says"),
    [
        ({}, {}, "holds no TOML file"),
        ({"a": "x", "b": "x"}, {}, "2 files have the key 'x'"),
        ({"a": "a", "b": "b"}, {"A": "1:abc"}, "BRIMFUL_TOKEN_B: the bot needs its token"),
        ({"a": "a", "b": "b"}, {"A": "1:abc", "B": "1:abc"}, "two dealers have the same token"),
        ({"a": "a", "b": "b"}, {"A": "1:abc", "B": "hush hush"}, "BRIMFUL_TOKEN_B: this is no bot token"),
    ],
)
def test_a_folder_of_dealers_that_cannot_be_served_is_refused_with_a_sentence(
    tmp_path: Path, files: dict[str, str], tokens: dict[str, str], says: str
):
    folder = tmp_path / "dealers"
    folder.mkdir()
    for name, key in files.items():
        (folder / f"{name}.toml").write_text(f'key = "{key}"\nname = "Tubs"\n', encoding="utf-8")
    environment = {name: value for name, value in os.environ.items() if not name.startswith("BRIMFUL_")}
    environment |= {"BRIMFUL_DEALER": str(folder), "BRIMFUL_DATABASE": str(tmp_path / "b.db")}
    environment |= {f"BRIMFUL_TOKEN_{key}": token for key, token in tokens.items()}
    done = subprocess.run(
        [sys.executable, "-m", "bot", "serve"], cwd=ROOT, env=environment, capture_output=True, text=True, check=False
    )
    assert done.returncode == 2
    assert says in done.stderr
    assert "hush" not in done.stderr
