"""Hot-tub water: what it is, what a product does to it, and what a careful technician would add. Numbers with units."""

from dosing.active import ActiveChlorine, active_chlorine
from dosing.changes import add, equilibrate, heat, mix, spend
from dosing.codes import (
    ASK_CODES,
    BATHING_CODES,
    CAUTION_CODES,
    DOUBT_CODES,
    ESCALATE_CODES,
    OBJECTION_CODES,
    WHY_CODES,
)
from dosing.history import Addition, Past, Refill, Soak
from dosing.job import Purpose
from dosing.langelier import langelier
from dosing.limits import LOCALES, Limits, limits_for
from dosing.order import maintenance_step
from dosing.planner import plan
from dosing.products import DEFAULT_KIT, Kit, Measure, Product
from dosing.proposal import Objection, Proposal, Proposed, converted, foresee, proposed_in
from dosing.readings import DEFAULT_SCALE, READING_KEYS, Interval, Reading, Said, Scale
from dosing.steps import Assumed, Bathing, Doubt, Escalate, Later, Measured, Plan, Spread, Step, Why, plan_json
from dosing.substances import SUBSTANCES, Substance
from dosing.water import Speciation, Water, from_carbon, speciate

__all__ = [
    "ASK_CODES",
    "BATHING_CODES",
    "CAUTION_CODES",
    "DEFAULT_KIT",
    "DEFAULT_SCALE",
    "DOUBT_CODES",
    "ESCALATE_CODES",
    "LOCALES",
    "OBJECTION_CODES",
    "READING_KEYS",
    "SUBSTANCES",
    "WHY_CODES",
    "ActiveChlorine",
    "Addition",
    "Assumed",
    "Bathing",
    "Doubt",
    "Escalate",
    "Interval",
    "Kit",
    "Later",
    "Limits",
    "Measure",
    "Measured",
    "Objection",
    "Past",
    "Plan",
    "Product",
    "Proposal",
    "Proposed",
    "Purpose",
    "Reading",
    "Refill",
    "Said",
    "Scale",
    "Soak",
    "Speciation",
    "Spread",
    "Step",
    "Substance",
    "Water",
    "Why",
    "active_chlorine",
    "add",
    "converted",
    "equilibrate",
    "foresee",
    "from_carbon",
    "heat",
    "langelier",
    "limits_for",
    "maintenance_step",
    "mix",
    "plan",
    "plan_json",
    "proposed_in",
    "speciate",
    "spend",
]
