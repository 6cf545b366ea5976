"""The parameters of one request, however they were sent."""

import json
from dataclasses import dataclass, field
from typing import Any

from aiohttp import web

from tests.botapi.errors import Json, bad_request


@dataclass(frozen=True)
class Upload:
    """A file that came with a request."""

    name: str
    data: bytes
    mime: str


@dataclass
class Params:
    """Values by name; `files` by form field name."""

    values: Json = field(default_factory=dict)
    files: dict[str, Upload] = field(default_factory=dict)

    def text(self, name: str, default: str = "") -> str:
        """A string, empty where it is missing."""
        value = self.values.get(name, default)
        return value if isinstance(value, str) else json.dumps(value)

    def integer(self, name: str, default: int = 0) -> int:
        """A whole number; 400 where it is none."""
        value = self.values.get(name, default)
        try:
            return int(value)
        except (TypeError, ValueError):
            raise bad_request(f"invalid {name} specified") from None

    def flag(self, name: str) -> bool:
        """A truth value, false where it is missing."""
        return str(self.values.get(name, "")).lower() in {"true", "1", "yes", "t", "y"}

    def tree(self, name: str) -> Any:
        """A JSON value, None where it is missing; 400 where it cannot be read."""
        value = self.values.get(name)
        if not isinstance(value, str):
            return value
        if not value:
            return None
        try:
            return json.loads(value)
        except ValueError:
            raise bad_request(f"can't parse {name.replace('_', ' ')} JSON object") from None

    def shown(self) -> Json:
        """For the ledger: values, and names and sizes of files."""
        return self.values | {name: f"{file.name} ({len(file.data)} bytes)" for name, file in self.files.items()}


async def read(request: web.Request) -> Params:
    """Query, form, multipart or JSON body into one set of parameters."""
    values: Json = dict(request.query)
    files: dict[str, Upload] = {}
    if request.content_type == "application/json":
        try:
            body = await request.json()
        except ValueError:
            raise bad_request("can't parse request body as JSON object") from None
        if not isinstance(body, dict):
            raise bad_request("object expected as request body")
        values |= body
    elif request.can_read_body:
        for name, value in (await request.post()).items():
            if isinstance(value, web.FileField):
                files[name] = Upload(value.filename, value.file.read(), value.content_type)
            else:
                values[name] = value
    return Params(values, files)
