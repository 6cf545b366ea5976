"""What every type of the model has in common: it is frozen, and it refuses fields that it does not know."""

from pydantic import AwareDatetime, BaseModel, ConfigDict

Moment = AwareDatetime
"""A point in time; a naive one is refused."""


class Record(BaseModel):
    """A frozen value of the trade."""

    model_config = ConfigDict(frozen=True, extra="forbid")
