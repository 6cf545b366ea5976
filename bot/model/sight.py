"""An owner with one of their tubs as the dealer's desk looks at many: enough to say who needs somebody."""

from dataclasses import dataclass

from bot.model.fact import Entry
from bot.model.known import Case
from bot.model.person import Person
from bot.model.record import Moment
from bot.model.tub import Tub


@dataclass(frozen=True, slots=True)
class Sight:
    """`journal` holds what began and changed the water, the cartridge's changes and the newest test, oldest first."""

    person: Person
    tub: Tub | None = None
    journal: tuple[Entry, ...] = ()
    heard: Moment | None = None
    """When somebody of the tub last told of it."""
    unanswered: int = 0
    """Reminders to test that were sent to this person since the newest test and since they last answered one."""
    first_test: Moment | None = None
    """When the tub's own water was tested for the first time."""
    cases: tuple[Case, ...] = ()
    """Open cases of this person that are about this tub; those about no tub stand with the first one."""
