"""What every store must do, whichever engine it stands on. An engine's own test file only says how to make one."""

from tests.store.contract.about import AboutContract
from tests.store.contract.desk import DeskContract
from tests.store.contract.dues import DuesContract
from tests.store.contract.erasing import ErasingContract
from tests.store.contract.errands import ErrandsContract
from tests.store.contract.groups import GroupContract
from tests.store.contract.handing import HandingContract
from tests.store.contract.households import HouseholdContract
from tests.store.contract.inbox import InboxContract
from tests.store.contract.isolation import IsolationContract
from tests.store.contract.keeping import KeepingContract
from tests.store.contract.knowing import KnowingContract
from tests.store.contract.leases import LeasesContract
from tests.store.contract.merging import MergingContract
from tests.store.contract.outbox import OutboxContract
from tests.store.contract.poured import PouredContract
from tests.store.contract.rounds import LiveMessagesContract, RoundsContract
from tests.store.contract.seeking import SeekingContract
from tests.store.contract.settling import SettlingContract
from tests.store.contract.sights import SightsContract


class StoreContract(
    InboxContract,
    SeekingContract,
    SightsContract,
    PouredContract,
    HouseholdContract,
    HandingContract,
    MergingContract,
    SettlingContract,
    KnowingContract,
    KeepingContract,
    DuesContract,
    OutboxContract,
    RoundsContract,
    LiveMessagesContract,
    ErasingContract,
    GroupContract,
    DeskContract,
    LeasesContract,
    IsolationContract,
    ErrandsContract,
    AboutContract,
):
    """All groups of tests together."""


__all__ = ["StoreContract"]
