"""What every type of the model has in common: it is frozen, and it refuses fields that it does not know."""

from typing import Annotated

from pydantic import AwareDatetime, BaseModel, BeforeValidator, ConfigDict

Moment = AwareDatetime
"""A point in time; a naive one is refused."""


def _sound(text: object) -> object:
    return text.encode("utf-16", "surrogatepass").decode("utf-16", "replace") if isinstance(text, str) else text


Foreign = Annotated[str, BeforeValidator(_sound)]
"""Text that comes from outside: half a surrogate pair, which no file and no database can hold, is replaced."""


class Record(BaseModel):
    """A frozen value of the trade."""

    model_config = ConfigDict(frozen=True, extra="forbid")
