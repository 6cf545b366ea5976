"""Settings from the environment: each one named BRIMFUL_..., dangerous ones refused with a sentence."""

import ipaddress
import os
import re
import sys
from pathlib import Path
from typing import Annotated, Literal, Self
from urllib.parse import urlsplit

from platformdirs import user_data_path
from pydantic import BeforeValidator, Field, SecretStr, ValidationError, field_validator
from pydantic_settings import BaseSettings, SettingsConfigDict

from bot.store.contract import POSTGRES

PREFIX = "BRIMFUL_"
TOKEN = re.compile(r"\d{1,20}:[A-Za-z0-9_-]{3,128}")
NO_TOKEN = "this is no bot token; it is digits, a colon and a long word, as the service issued it"  # noqa: S105
API_URL = "https://api.telegram.org"
NETWORK_FILES = frozenset({"nfs", "nfs4", "cifs", "smb3", "smbfs", "fuse.sshfs", "ceph", "fuse.glusterfs", "afs"})
"""File systems on which SQLite's locks do not hold."""


Level = Annotated[Literal["DEBUG", "INFO", "WARNING", "ERROR"], BeforeValidator(lambda level: str(level).upper())]


class BadSettings(Exception):
    """A setting cannot be used; the text says which, why, and what would be right. It never holds a secret."""


def data_folder() -> Path:
    """Where this user's programs keep their data, made if need be."""
    return user_data_path("brimful", appauthor=False, ensure_exists=True)


class Settings(BaseSettings):
    """What can be set. Empty values count as not set; names that we do not know are other programs' business."""

    model_config = SettingsConfigDict(
        env_prefix=PREFIX, env_ignore_empty=True, extra="ignore", hide_input_in_errors=True, frozen=True
    )

    database: str = Field(default_factory=lambda: str(data_folder() / "brimful.sqlite3"), repr=False)
    """The path of an SQLite file in a folder that exists, or the address of a PostgreSQL database."""
    backups: Path | None = None
    """The folder in which backups of an SQLite file are kept; better on another disk."""
    token: SecretStr | None = None
    """The token of the Telegram bot."""
    api_url: str = API_URL
    """Where the Bot API is: the public one, or a server of one's own."""
    dealer: Path | None = None
    """TOML file with the dealer's name, zone and settings; for several dealers, a folder with a file for each."""
    bot: str | None = Field(None, pattern=r"^@?[A-Za-z0-9_]{3,64}$")
    """The bot's user name, for the links of invites."""
    webhook: str | None = Field(
        None, pattern=r"^https://[^/?#@\s]+(/[^?#\s]*)?$|^http://(127\.0\.0\.1|localhost)(:\d+)?(/[^?#\s]*)?$"
    )
    """The public address at which the service brings updates; without it they are fetched."""
    listen: str | None = Field(None, pattern=r"^[A-Za-z0-9.:\[\]-]*:\d{1,5}$")
    """Host and port of the door: webhook, health, readiness, figures."""
    workers: int = Field(8, ge=1, le=64)
    """How many chats are answered side by side."""
    pace: float = Field(25.0, ge=0.1, le=29.0)
    """How many messages leave in a second; the service takes 30 of a bot."""
    each: int = Field(30, ge=10, le=600)
    """How many messages and taps of one person are answered in a minute; the rest wait, texts of them as one."""
    strangers: int = Field(120, ge=10, le=6000)
    """The same for all together whom nobody knows."""
    log: Level = "INFO"

    @classmethod
    def read(cls) -> Self:
        """The settings of this environment; BadSettings where one cannot be used."""
        try:
            return cls()
        except ValidationError as wrong:
            first = wrong.errors(include_input=False, include_url=False)[0]
            name = PREFIX + "_".join(str(part) for part in first["loc"]).upper()
            raise BadSettings(f"{name}: {str(first['msg']).removeprefix('Value error, ')}") from None

    @field_validator("database", mode="before")
    @classmethod
    def _a_database_that_keeps(cls, value: object) -> str:
        text = str(value)
        if text.startswith(POSTGRES):
            return text
        if "://" in text:
            raise ValueError(
                "this is neither a path such as /var/lib/brimful/brimful.sqlite3 nor an address such as"
                " postgresql://brimful@db.internal/brimful"
            )
        kind = file_system(Path(text))
        if kind in NETWORK_FILES:
            raise ValueError(
                f"the path lies on a network file system ({kind}), where SQLite loses data; give a local path"
            )
        return text

    @field_validator("token")
    @classmethod
    def _looks_like_a_token(cls, value: SecretStr | None) -> SecretStr | None:
        if value and not TOKEN.fullmatch(value.get_secret_value()):
            raise ValueError(NO_TOKEN)
        return value

    def token_for(self, dealer: str, *, alone: bool) -> str:
        """The token of a dealer's bot: BRIMFUL_TOKEN where there is one dealer, BRIMFUL_TOKEN_<KEY> where there are
        several. BadSettings where there is none.
        """
        name = f"{PREFIX}TOKEN" if alone else f"{PREFIX}TOKEN_{re.sub('[^A-Z0-9]', '_', dealer.upper())}"
        token = (self.token.get_secret_value() if self.token else "") if alone else os.environ.get(name, "")
        if not token:
            raise BadSettings(f"{name}: the bot needs its token; give the one that the service issued for it")
        if not TOKEN.fullmatch(token):
            raise BadSettings(f"{name}: {NO_TOKEN}")
        return token

    @field_validator("api_url")
    @classmethod
    def _keeps_the_token_secret(cls, value: str) -> str:
        parts = urlsplit(value)
        if parts.scheme not in ("http", "https") or not parts.hostname:
            raise ValueError("this is no address; write it like https://api.telegram.org or http://127.0.0.1:8081")
        if parts.username or parts.password or parts.query or parts.fragment:
            raise ValueError("an address of a server only: no user, no password, nothing after ? or #")
        if parts.scheme == "http" and not _is_near(parts.hostname):
            raise ValueError(
                "over plain http the token would cross the network in the open; use https, or a server near by"
            )
        return value.rstrip("/")


def _is_near(host: str) -> bool:
    """Whether a host is this machine or one of its own network."""
    try:
        address = ipaddress.ip_address(host)
    except ValueError:
        return "." not in host or host.endswith((".local", ".internal", ".localhost"))
    return address.is_loopback or address.is_private


def file_system(path: Path, mounts: Path = Path("/proc/self/mounts")) -> str:
    """The kind of file system that a path lies on; empty where the system does not say."""
    if not sys.platform.startswith("linux") or not mounts.exists():
        return ""
    place = path.absolute()
    best, kind = "", ""
    for row in mounts.read_text(encoding="utf-8", errors="replace").splitlines():
        _, point, name, *_ = row.split(" ")
        point = point.replace("\\040", " ")
        if place.is_relative_to(point) and len(point) >= len(best):
            best, kind = point, name
    return kind
