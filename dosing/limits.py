"""Every number that a plan obeys, beside its source; a dealer's settings and a local code replace any of them.

A value without a source is common practice.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType


@dataclass(frozen=True, slots=True)
class Limits:
    """Aims, fine ranges, bounds, maxima a step and waits. mg/L (alkalinity and hardness as CaCO3), degC, g, min, h."""

    locale: str = "default"

    # pH. No bathing outside 7.0 to 7.8: US CDC, Preventing Hot Tub Rash. Fine from 7.2: US state codes (NY, MT, WI).
    ph_aim: float = 7.4
    ph_fine: tuple[float, float] = (7.2, 7.8)
    ph_bathing: tuple[float, float] = (7.0, 7.8)
    ph_bounds: tuple[float, float] = (7.0, 8.0)

    # Alkalinity. 60 to 180 is the US frame (from memory); low is kept in aerated tubs because air lifts pH.
    alkalinity_aim: float = 80.0
    alkalinity_aim_dichlor: float = 100.0
    alkalinity_fine: tuple[float, float] = (50.0, 120.0)
    alkalinity_low_if_ph_low: float = 80.0
    alkalinity_high: float = 150.0
    ph_dosed: tuple[float, float] = (7.0, 8.0)
    """What a dose for pH or alkalinity itself may not pass; `ph_bounds` holds for all."""
    ph_based: float = 8.0
    """pH that a dose that raises alkalinity may bring the most likely water to."""
    alkalinity_acid_to: float = 7.2
    """pH down to which acid takes high alkalinity in one visit; air brings pH back."""
    ph_with_alkalinity_low: float = 7.2
    ph_with_alkalinity_high: float = 7.6
    alkalinity_bounds: tuple[float, float] = (30.0, 180.0)

    # Free chlorine. At least 3: US CDC. At most 5 with bathers: NY 10 NYCRR 6-1.25; 10: US CDC.
    chlorine_aim: float = 5.0
    chlorine_fine: tuple[float, float] = (3.0, 5.0)
    chlorine_bathing: tuple[float, float] = (3.0, 5.0)
    chlorine_bound: float = 10.0
    chlorine_startup: float = 5.0
    chlorine_shock: float = 10.0
    combined_fine: float = 0.5
    combined_bathing: float = 1.0
    chlorine_loss: float = 0.15
    """Per day, of what there is: a sound covered tub at rest (common practice; bathers come on top)."""
    dose_hours: float = 24.0
    """So soon a tub in use is dosed again, or looked at, where its own routine does not say (common practice)."""
    none_below: float = 0.5
    """Less sanitizer than this, for nobody knows how long, counts as none."""
    unsanitised_after_hours: float = 48.0
    dye_chlorine: float = 10.0
    """From here on pH and alkalinity dyes are not believed (from memory of US CDC guidance); bromine: twice this."""

    # Total bromine. 4 to 8: US CDC; 4 to 6 to work with: WHO.
    bromine_aim: float = 5.0
    bromine_fine: tuple[float, float] = (4.0, 6.0)
    bromine_bathing: tuple[float, float] = (4.0, 8.0)
    bromine_bound: float = 10.0
    bromine_shock: float = 10.0
    bromide_bank: float = 30.0
    """Sodium bromide for a new bank."""

    hardness_aim: float = 150.0
    hardness_fine: tuple[float, float] = (75.0, 250.0)
    phosphate_hardness_max: float = 150.0
    saturation_fine: tuple[float, float] = (-0.3, 0.5)  # ANSI/APSP/ICC-11, from memory
    saturation_bound: float = 0.7
    calcium_ph_max: float = 7.8
    scaling_ph: float = 7.55
    """Hard water that scales gets acid above this pH, a water change below it."""

    cyanurate_warn: float = 30.0
    cyanurate_change: float = 50.0
    cyanurate_barred: bool = False

    solids_over_start: float = 1500.0  # Montana ARM 37.115 (exchange at 1,500 over the supply)
    temperature_max: float = 40.0  # US CDC; CPSC 1979
    bathing_temperature: float = 38.0

    volume_min: float = 100.0
    volume_max: float = 4000.0
    """L; less is a mistyped number, more is a swim spa or a pool, which this library does not speak of."""
    reading_hours: float = 24.0
    oxidiser_hours: float = 24.0
    """So long monopersulfate reads as combined chlorine (from memory)."""

    # Most of one product in one step, g of the pure substance per 1,000 L, and steps a day.
    acid_step: float = 25.0
    acid_steps_a_day: int = 3
    acid_whole: float = 4.0
    """g per 1,000 L: a smaller dose of acid is not halved."""
    acid_overdose: float = 0.0
    """Share by which more acid than was said may go in, and the bounds still hold."""
    bicarbonate_step: float = 200.0
    carbonate_step: float = 50.0
    calcium_step: float = 100.0
    monopersulfate_step: float = 60.0
    monopersulfate_dose: float = 30.0
    """A shock without chlorine, g of the pure salt per 1,000 L (about an ounce in 250 US gallons)."""
    chlorine_per_bather_hour: float = 4.0
    """g of chlorine that an hour of one bather uses up (from memory)."""
    bromide_step: float = 40.0
    same_pad_doses: int = 3

    # Minutes: jets, then the wait before the next product and before a reading.
    jets_sanitizer: int = 10
    jets_balance: int = 10
    jets_calcium: int = 30
    jets_oxidiser: int = 15
    wait_between: int = 15
    wait_acid_chlorine: int = 30
    reading_sanitizer: int = 30
    reading_balance: int = 60
    reading_calcium: int = 120
    air_minutes: tuple[int, int] = (20, 120)
    air_rate: tuple[float, float, float] = (0.0, 0.6, 1.5)
    """Share of the excess carbon dioxide lost per hour of jets with air: tub whose jets do nothing, a usual and a
    fast one (from memory)."""

    def dye_limit(self, key: str) -> float:
        """From how much sanitizer on ("fc" or "br") the dyes of pH and alkalinity are not believed."""
        return self.dye_chlorine * (2.0 if key == "br" else 1.0)


LOCALES: Mapping[str, Limits] = MappingProxyType({
    "default": Limits(),
    # US CDC, Preventing Hot Tub Rash: chlorine 3 to 10, bromine 4 to 8; against cyanurate in hot tubs (from memory).
    "us_cdc": Limits(locale="us_cdc", chlorine_bathing=(3.0, 10.0), cyanurate_barred=True),
    # NY 10 NYCRR 6-1.25: chlorine at most 5 in use, bromine 3 to 6; the home minimum of 4 stays.
    "us_ny": Limits(locale="us_ny", bromine_bathing=(4.0, 6.0)),
    # California 22 CCR 65529: chlorine 3 to 10.
    "us_ca": Limits(locale="us_ca", chlorine_bathing=(3.0, 10.0)),
    # Texas 25 TAC 265.193: no cyanurate or dichlor in indoor spas.
    "us_tx_indoor": Limits(locale="us_tx_indoor", cyanurate_barred=True),
    # NSW Public Health Regulation 2012, Schedule 1: 38 degC, no cyanurate in spas.
    "au_nsw": Limits(locale="au_nsw", temperature_max=38.0, cyanurate_barred=True),
    # HSE HSG282 (from memory): chlorine 3 to 5, no cyanurate in spa pools.
    "uk": Limits(locale="uk", cyanurate_barred=True),
    # DIN 19643 (from memory): no cyanurate.
    "de": Limits(locale="de", cyanurate_barred=True),
})  # fmt: skip


def limits_for(locale: str) -> Limits:
    """The limits of a locale by name. Raises ValueError that lists the known names."""
    found = LOCALES.get(locale)
    if found is None:
        raise ValueError(f"{locale!r} is not a known locale; these are: {', '.join(LOCALES)}")
    return found
