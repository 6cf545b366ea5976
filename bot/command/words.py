"""The plan in plain English for a terminal: one sentence for each code, with its numbers."""

from __future__ import annotations

from collections.abc import Mapping

ASKS: Mapping[str, str] = {
    "volume": "how much water the tub holds (litres, or US or imperial gallons)",
    "sanitizer": "which sanitizer the tub runs on: chlorine or bromine",
    "reading": "a test of the water",
    "fresh_reading": "a fresh test: the last one is more than a day old",
    "fc": "free chlorine",
    "br": "total bromine",
    "ph": "pH",
    "ta": "total alkalinity",
    "ch": "calcium hardness",
    "diluted_test": "a test of one part tub water in nine parts chlorine-free fresh water, times ten",
    "second_test": "a second test by another method: drops, or the dealer's",
    "new_strips": "a test with strips that are not past their date",
    "source_water": "a test of the fill water",
    "product_sanitizer": "a sanitizer that may be used here",
    "product_acid": "a pH decreaser",
    "product_alkalinity": "an alkalinity increaser",
    "product_ph_up": "a pH increaser",
    "product_calcium": "a hardness increaser",
    "product_oxidiser": "a product to shock with",
}

WHYS: Mapping[str, str] = {
    "metals_before_oxidiser": "metals are bound before anything oxidises them",
    "alkalinity_low": "alkalinity is {ta:g}, the aim is {aim:g}",
    "alkalinity_high": "alkalinity is {ta:g}, the aim is {aim:g}",
    "ph_low": "pH is {ph:g}, the aim is {aim:g}",
    "ph_high": "pH is {ph:g}, the aim is {aim:g}",
    "hardness_low": "hardness is {ch:g}, the aim is {aim:g}",
    "hardness_high": "hardness is {ch:g} and the water would scale (index {saturation_index:g})",
    "sanitizer_low": "the sanitizer is low, or will be before it is due again; the aim is {aim:g} mg/L",
    "active_chlorine_low": "cyanuric acid ({cya:g} mg/L) holds chlorine back; the aim is {aim:g} mg/L",
    "no_sanitizer": "warm water has stood without sanitizer; it is brought to {aim:g} mg/L and held",
    "combined_chlorine": "combined chlorine is {cc:g} mg/L; it is oxidised at {aim:g} mg/L",
    "shock": "a shock brings the sanitizer to {aim:g} mg/L",
    "startup_sanitizer": "new water gets its first sanitizer, {aim:g} mg/L",
    "bromide_bank": "bromine needs a bromide reserve of {aim:g} mg/L first",
    "buffer_last": "a buffer goes in last, by its label",
    "sanitizer_high": "so much sanitizer spoils the colours of the other tests",
    "cyanurate_high": "cyanuric acid is {cya:g} mg/L and only fresh water lowers it ({percent:g} % of the tub)",
    "solids_high": "dissolved solids are {tds:g} mg/L, {start:g} at the fill ({percent:g} % of the tub)",
    "air_lifts_ph": "air drives out carbon dioxide and lifts pH without any product",
    "one_at_a_time": "something went in just now; products stay {minutes:g} minutes apart",
    "check_result": "the result is checked before anything else goes in",
    "bounds_hold_rest": "only the safe part went in; the rest depends on the next reading",
    "reading_doubted": "the reading could not be believed",
    "prescribed": "a person decided on it",
}

CAUTIONS: Mapping[str, str] = {
    "nobody_in_water": "nobody in the water",
    "cover_open": "cover open",
    "one_product_at_a_time": "one product at a time",
    "powder_into_water": "product into water, never water onto product",
    "predissolve": "dissolve it in a clean bucket of tub water first, as its label says",
    "do_not_predissolve": "straight into the water, not into a bucket first, unless its label says so",
    "gloves_and_goggles": "gloves and goggles",
    "acid_air_controls_closed": "air controls closed",
    "never_with_chlorine": "never together with chlorine",
    "never_with_acid": "never together with acid",
    "half_dose": "this is half of the dose",
    "safe_part_only": "this is the part that is safe before the next reading",
    "label_rules": "the label overrules this",
    "clouds_if_ph_high": "clouds the water where pH is high",
    "adds_cyanurate": "brings cyanuric acid",
    "mps_reads_as_combined": "total chlorine cannot be judged for a day",
    "buffer_last_jets_off": "last of all, jets off",
    "not_baking_powder": "baking soda, not baking powder",
    "source_water_test": "test the fill water for metals",
    "drain_power_off": "power off before draining",
    "drain_local_rules": "ask the local water authority where it may go",
    "retest_before_bathing": "bathe by the new reading, not by the clock",
    "never_two_chlorines": "never two kinds of chlorine together",
    "not_in_feeder": "straight into the water, not into a feeder",
    "dip_as_label_says": "dip and read as the strip's label says",
    "read_sanitizer_first": "read the sanitizer pad first",
}

DOUBTS: Mapping[str, str] = {
    "bleached_pad": "about {booked:g} mg/L went in: a white pad means far too much, not none",
    "ph_dye_falsified": "so much sanitizer falsifies this colour",
    "mps_as_combined": "monopersulfate ({hours:g} h ago) reads as combined chlorine",
    "bromine_on_chlorine_scale": "{read:g} on a chlorine scale is {as_bromine:g} of bromine",
    "chlorine_on_bromine_scale": "{read:g} on a bromine scale is {as_chlorine:g} of chlorine",
    "still_bromine": "bromide is still in this water: it is a bromine tub until it is refilled",
    "total_not_calcium_hardness": "total hardness counts magnesium; calcium is less",
    "cyanurate_in_alkalinity": "part of this alkalinity is cyanurate; carbonate is about {carbonate_alkalinity:g}",
    "pair_impossible": "pH {ph:g} and alkalinity {ta:g} hardly go together",
    "change_impossible": "{read:g} does not follow from what is known ({expected_low:g} to {expected_high:g})",
    "cyanurate_without_source": "nothing is known that could have brought cyanuric acid",
    "strips_expired": "these strips are past their date",
    "no_response": "{doses:g} corrective doses in a row changed nothing: the volume, the product or the strip is wrong",
    "free_above_total": "free chlorine above total chlorine cannot be",
    "volume_implausible": "no hot tub holds {litres:g} L",
}

BATHING: Mapping[str, str] = {
    "sanitizer_unknown": "the sanitizer is not known",
    "ph_unknown": "pH is not known",
    "fc_low": "free chlorine is too low",
    "fc_high": "free chlorine is too high",
    "br_low": "bromine is too low",
    "br_high": "bromine is too high",
    "cc_high": "combined chlorine is too high",
    "ph_low": "pH is too low",
    "ph_high": "pH is too high",
    "too_hot": "the water is too hot",
    "dosing": "products go in",
    "retest_first": "a retest comes first",
    "reading_doubted": "the reading is in doubt",
    "reading_old": "the reading is too old",
    "water_change": "the water is changed first",
}

ESCALATIONS: Mapping[str, str] = {
    "too_hot": "the water is hotter than it may be: everybody out, and call the technician",
    "no_sanitizer": "warm water without sanitizer: nobody bathes until it holds",
    "no_response": "stop dosing and call the dealer",
    "not_a_hot_tub": "this is more water than a hot tub holds: the dealer helps with a pool",
    "beyond_chemistry": "no product can put this right",
    "source_too_hard": "the fill water is as hard: changing water will not help",
}

READING_NAMES: Mapping[str, str] = {
    "ph": "pH",
    "ta": "alkalinity",
    "fc": "free chlorine",
    "br": "bromine",
    "ch": "hardness",
    "cya": "cyanuric acid",
    "temp": "temperature",
    "saturation_index": "saturation index",
}

PLANE: Mapping[str, str] = {
    "title": "What the plan does, and where the water may be",
    "alkalinity": "Total alkalinity, mg/L as CaCO3",
    "carbon": "Total inorganic carbon, mmol/L",
    "now": "now, by the reading",
    "target": "in range",
    "expected": "expected after the steps",
}
