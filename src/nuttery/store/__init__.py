"""The register of notes and weather: kept once, kept whole, and asked as of any day."""

from nuttery.store.checking import Trouble
from nuttery.store.errors import (
    ArchiveRefused,
    BatchFault,
    ConflictingNote,
    NoRoom,
    NotARegister,
    NotKnown,
    RegisterBusy,
    RegisterDamaged,
    RegisterExists,
    RegisterMissing,
    RegisterProblem,
    RegisterRefused,
    RegisterTooNew,
    WeatherRefused,
)
from nuttery.store.keeping import Kept
from nuttery.store.register import Register
from nuttery.store.states import ShrubState
from nuttery.store.upkeep import check_register, restore_archive, write_archive
from nuttery.store.weather_types import Daily, Hourly, KeptWeather, Record, WeatherSource

__all__ = [
    "ArchiveRefused",
    "BatchFault",
    "ConflictingNote",
    "Daily",
    "Hourly",
    "Kept",
    "KeptWeather",
    "NoRoom",
    "NotARegister",
    "NotKnown",
    "Record",
    "Register",
    "RegisterBusy",
    "RegisterDamaged",
    "RegisterExists",
    "RegisterMissing",
    "RegisterProblem",
    "RegisterRefused",
    "RegisterTooNew",
    "ShrubState",
    "Trouble",
    "WeatherRefused",
    "WeatherSource",
    "check_register",
    "restore_archive",
    "write_archive",
]
