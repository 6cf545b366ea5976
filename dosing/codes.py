"""Every code that a plan may carry. The sentences that go with them belong to whoever speaks to a person."""

from __future__ import annotations

from typing import Literal, get_args

Status = Literal["fine", "plan", "ask", "withheld"]
Action = Literal["add", "drain", "aerate", "retest", "wait"]

WhyCode = Literal[
    "metals_before_oxidiser",  # grams_per_1000l
    "alkalinity_low",  # ta, aim
    "alkalinity_high",  # ta, aim
    "ph_low",  # ph, aim
    "ph_high",  # ph, aim
    "hardness_low",  # ch, aim
    "hardness_high",  # ch, saturation_index
    "saturation_low",  # saturation_index; the water corrodes although each reading is fine
    "saturation_high",  # saturation_index; it scales
    "sanitizer_low",  # fc or br, aim
    "active_chlorine_low",  # fc, cya, aim
    "no_sanitizer",  # fc or br, aim
    "combined_chlorine",  # cc, aim
    "shock",  # fc or br, aim
    "startup_sanitizer",  # fc or br, aim
    "bromide_bank",  # bromide, aim (mg/L as sodium bromide)
    "buffer_last",  # grams_per_1000l
    "sanitizer_high",  # fc or br, limit
    "cyanurate_high",  # cya, limit, percent
    "solids_high",  # tds, start, percent
    "air_lifts_ph",  # ph, aim
    "one_at_a_time",  # minutes; a wait because something went in just now
    "check_result",  # retest at the end of a plan
    "bounds_hold_rest",  # retest because only the safe part could be given
    "reading_doubted",  # retest because the reading is not believed
    "prescribed",  # a dose that a person decided on
    "after_soak",  # fc or br (before), predicted
    "oxidise",  # fc or br (before), predicted
    "oxidise_regularly",  # fc or br (before), predicted
    "soak_beyond_dose",  # fc or br (before), predicted
    "idle",  # fc or br (before), predicted
    "before_holiday",  # fc or br (before), predicted
]
CautionCode = Literal[
    "nobody_in_water", "cover_open", "one_product_at_a_time", "powder_into_water", "predissolve", "do_not_predissolve",
    "gloves_and_goggles", "acid_air_controls_closed", "never_with_chlorine", "never_with_acid", "half_dose",
    "safe_part_only", "label_rules", "clouds_if_ph_high", "adds_cyanurate", "mps_reads_as_combined",
    "buffer_last_jets_off", "not_baking_powder", "source_water_test", "drain_power_off", "drain_local_rules",
    "retest_before_bathing", "never_two_chlorines", "not_in_feeder", "dip_as_label_says", "read_sanitizer_first",
]  # fmt: skip
DoubtCode = Literal[
    "bleached_pad",  # booked
    "ph_dye_falsified",  # fc or br
    "mps_as_combined",  # hours, grams
    "bromine_on_chlorine_scale",  # read, as_bromine
    "chlorine_on_bromine_scale",  # read, as_chlorine
    "still_bromine",  # bromide_grams
    "total_not_calcium_hardness",  # th
    "cyanurate_in_alkalinity",  # cya, carbonate_alkalinity
    "pair_impossible",  # ph, ta, pco2
    "change_impossible",  # read, expected_low, expected_high
    "cyanurate_without_source",  # cya
    "strips_expired",
    "no_response",  # doses
    "free_above_total",  # fc, tc
    "volume_implausible",  # litres
]
BathingCode = Literal[
    "sanitizer_unknown", "ph_unknown", "fc_low", "fc_high", "br_low", "br_high", "cc_high", "ph_low", "ph_high",
    "too_hot", "dosing", "retest_first", "reading_doubted", "reading_old", "water_change",
]  # fmt: skip
EscalateCode = Literal["too_hot", "no_sanitizer", "no_response", "not_a_hot_tub", "beyond_chemistry", "source_too_hard"]
ObjectionCode = Literal[
    "volume_missing",
    "sanitizer_missing",
    "reading_missing",
    "strength_missing",
    "beyond_label",  # grams, most
    "far_beyond",  # grams, most
    "sanitizer_far_out",  # high, most
    "two_chlorines",
    "acid_with_chlorine",  # minutes
    "cyanurate_barred",
    "beyond_step",  # grams, most
    "acid_too_often",  # count, most
    "ph_out",  # low, high, least, most
    "alkalinity_out",  # low, high, least, most
    "sanitizer_out",  # high, most
    "scales",  # high, most
]
AskCode = Literal[
    "volume", "sanitizer", "reading", "fresh_reading", "fc", "br", "ph", "ta", "ch", "diluted_test", "second_test",
    "new_strips", "source_water", "product_sanitizer", "product_acid", "product_alkalinity", "product_ph_up",
    "product_calcium", "product_oxidiser", "product_bromide",
]  # fmt: skip

WHY_CODES: tuple[str, ...] = get_args(WhyCode)
CAUTION_CODES: tuple[str, ...] = get_args(CautionCode)
DOUBT_CODES: tuple[str, ...] = get_args(DoubtCode)
BATHING_CODES: tuple[str, ...] = get_args(BathingCode)
ESCALATE_CODES: tuple[str, ...] = get_args(EscalateCode)
ASK_CODES: tuple[str, ...] = get_args(AskCode)
OBJECTION_CODES: tuple[str, ...] = get_args(ObjectionCode)
