"""The list of what checks each formula from outside: a new formula without such a test does not pass.

The second word says what the formula is held against. `definition` is a product or a quotient that has no second way
to be computed, whose worked example runs with its docstring.
"""

from __future__ import annotations

import inspect
from importlib import import_module
from pathlib import Path
from pkgutil import iter_modules

import pytest

import advisor.process

TESTS = Path(__file__).parents[1]
ELASTIC, SPOTS = "standards/test_elastic_contact.py", "standards/test_spots_and_lands.py"
SPEEDS, SCALES = "standards/test_speeds_and_powers.py", "standards/test_roughness_scales.py"
BANDS, BELT, COST, HEAT = (f"process/test_{name}.py" for name in ("bands", "belt", "cost", "heat"))
LOCAL, REMOVAL, ROUGH = (f"process/test_{name}.py" for name in ("local", "removal", "roughness"))
SHRINK, TIMING, WEAR = (f"process/test_{name}.py" for name in ("shrinking", "timing", "wear"))
WARM, ROBOT, LAWS = "figures/test_warming.py", "sheet/test_robot.py", "process/test_laws.py"

#: Formula: the test that checks it, and against what.
CHECKED = {
    "approach.run_up": (f"{ROBOT}::test_the_lengths_grow_with_the_feed", "law"),
    "approach.lead_length": (f"{ROBOT}::test_the_lengths_grow_with_the_feed", "law"),
    "approach.ramp_length": (f"{ROBOT}::test_the_lengths_grow_with_the_feed", "law"),
    "bands.seed_of": (f"{BANDS}::test_the_same_in_another_process", "another process"),
    "bands.draws": (f"{BANDS}::test_four_hundred_draws_show_the_band", "its own percentiles by numpy"),
    "bands.percentiles": ("numbers/test_sample.py::test_percentiles_are_numpys_nearest_ranks", "numpy"),
    "belt.running_tension": (f"{BELT}::test_a_faster_belt_never_lies_tighter", "definition"),
    "belt.tension_flags": (f"{BELT}::test_a_faster_belt_never_lies_tighter", "definition"),
    "belt.belt_tension_pressure": (f"{BELT}::test_tension_pressure_by_statics", "numerical integral"),
    "belt.centrifugal_pressure": (f"{BELT}::test_centrifugal_pressure_by_summing_thin_rings", "numerical integral"),
    "belt.spin_stiffening": (f"{SPOTS}::test_the_mean_pull_of_a_thrown_cover_by_summing_its_rings", "scipy quad"),
    "belt.spin_flags": (f"{BELT}::test_corrections_vanish_without_tension_and_are_flagged_outside_their_fit", "limit"),
    "belt.belt_tightening": (f"{BELT}::test_tightening_meets_the_numerical_solution", "boundary elements"),
    "contact.young_modulus": (f"{ELASTIC}::test_gent_table", "published table, two other relations"),
    "contact.shore_flags": (f"{ELASTIC}::test_shore_outside_twenty_to_eighty_is_flagged_at_the_limit", "limit"),
    "contact.young_modulus_spread": (f"{ELASTIC}::test_spread_covers_bs903", "BS 903 by scipy's erf"),
    "contact.plane_modulus": (f"{ELASTIC}::test_line_contact_table", "worked table"),
    "contact.relative_radius": (f"{ELASTIC}::test_line_contact_table", "worked table"),
    "contact.line_contact": (f"{ELASTIC}::test_finite_cover_against_the_elastic_layer", "boundary elements"),
    "cost.rework_runs": (f"{COST}::test_rework_by_throwing_dice", "simulation"),
    "cost.part_time": (f"{COST}::test_a_batch_worked_with_a_clock", "simulated batch"),
    "cost.shared": (f"{COST}::test_a_batch_worked_with_a_clock", "simulated batch"),
    "cost.inspection_time": (f"{COST}::test_a_batch_worked_with_a_clock", "simulated batch"),
    "cost.batch_time": (f"{COST}::test_a_batch_worked_with_a_clock", "simulated batch"),
    "cost.media_cost": (f"{COST}::test_reworked_parts_use_up_media_again", "simulated batch"),
    "cost.media_per_thousand": (f"{COST}::test_media_to_order_by_using_them_up", "simulation"),
    "cost.media_to_order": (f"{COST}::test_media_to_order_by_using_them_up", "simulation"),
    "cost.part_cost": (f"{COST}::test_a_batch_worked_with_a_clock", "simulated batch"),
    "cost.swings": (f"{COST}::test_swings_of_a_sum_and_a_product", "worked by hand"),
    "elliptic.elliptic_integrals": (f"{ELASTIC}::test_elliptic_integrals_against_scipy", "scipy"),
    "elliptic.elliptic_contact": (
        f"{ELASTIC}::test_ellipse_presses_the_paraboloid_it_was_solved_for", "Boussinesq's integral by scipy",
    ),
    "elliptic.spot_shape": (f"{SPOTS}::test_the_shape_of_a_spot_against_a_root_found_by_scipy", "scipy brentq"),
    "elliptic.touching_width": (f"{SPOTS}::test_the_touching_width_carries_its_force", "the contact it belongs to"),
    "elliptic.spot_contact": (
        f"{SPOTS}::test_a_spot_on_a_thin_cover_against_the_elastic_layer", "elastic layer in Fourier space",
    ),
    "heat.diffusivity": (f"{HEAT}::test_worked_table_of_metals", "worked table"),
    "heat.heat_into_part": (f"{HEAT}::test_worked_table_of_metals", "worked table"),
    "heat.heat_flux": (f"{HEAT}::test_worked_table_of_metals", "worked table"),
    "heat.peclet": (f"{HEAT}::test_worked_table_of_metals", "worked table"),
    "heat.band_shape": (f"{HEAT}::test_the_fit_meets_jaegers_integral_and_the_table", "scipy quad"),
    "heat.band_rise": (f"{HEAT}::test_rise_in_kelvin_by_summing_line_sources", "scipy quad"),
    "heat.wall_factor": (f"{WARM}::test_a_plate_under_an_even_flux_against_its_series", "exact series"),
    "heat.evening_time": (f"{HEAT}::test_worked_bulk_rise", "worked example"),
    "heat.heating_rate": (f"{HEAT}::test_worked_bulk_rise", "worked example"),
    "heat.cooling_time": (f"{HEAT}::test_worked_bulk_rise", "worked example"),
    "heat.bulk_rise": (f"{HEAT}::test_bulk_rise_follows_its_energy_balance", "scipy ODE"),
    "heat.plate_share": (
        f"{WARM}::test_the_spreading_of_a_round_face_against_an_integral_over_its_points", "scipy quad",
    ),
    "heat.duty_rise": (f"{HEAT}::test_worked_bulk_rise", "worked example"),
    "heat.cycle_peak": (f"{HEAT}::test_cycles_are_driven_until_they_repeat", "cycles run until they repeat"),
    "heat.heat_margin": (f"{HEAT}::test_margin_is_one_exactly_where_the_limit_is_reached", "definition"),
    "heat.heat_flags": (f"{HEAT}::test_warning_exactly_at_its_limits", "limit"),
    "lands.land_pressure": (f"{ELASTIC}::test_serrated_wheel_table", "worked example"),
    "lands.serrated_modulus": (f"{ELASTIC}::test_serrated_wheel_table", "worked example"),
    "lands.grooved_share": (f"{SPOTS}::test_a_grooved_cover_is_a_stack_of_slices", "the smeared modulus"),
    "lands.grooved_cover": (f"{SPOTS}::test_a_grooved_cover_is_a_stack_of_slices", "scipy quad"),
    "lands.land_flags": (f"{SPOTS}::test_grooves_that_do_not_fit_and_shares_that_are_none_are_refused", "limit"),
    "local.flattening": (f"{ELASTIC}::test_finite_cover_against_the_elastic_layer", "boundary elements"),
    "local.proportional": (f"{LOCAL}::test_the_scale_of_the_depth_law_does_not_touch_the_sharing", "definition"),
    "local.load_sharing": (f"{LOCAL}::test_with_a_threshold", "scipy ODE"),
    "local.level": (f"{LOCAL}::test_with_a_threshold", "scipy ODE"),
    "local.strip": (f"{LOCAL}::test_with_a_threshold", "scipy ODE"),
    "reach.largest_wheel_radius": (f"{REMOVAL}::test_reach_exactly_at_the_margin", "definition"),
    "reach.reaches": (f"{REMOVAL}::test_reach_exactly_at_the_margin", "limit"),
    "reach.root_gap": (f"{REMOVAL}::test_root_gap_by_placing_the_circles", "geometry by scipy brentq"),
    "removal.specific_energy": (f"{REMOVAL}::test_fine_grades_take_two_to_four_times_the_energy", "published range"),
    "removal.force_ratio": (f"{REMOVAL}::test_force_ratio_stays_in_the_remembered_ranges", "published range"),
    "removal.minimum_pressure": (
        f"{REMOVAL}::test_minimum_pressure_at_its_reference_and_by_logarithms", "by logarithms",
    ),
    "removal.cutting_share": (f"{REMOVAL}::test_cutting_share_at_and_below_the_threshold", "worked by hand"),
    "removal.depth_per_pass": (
        f"{REMOVAL}::test_depth_is_the_integral_of_prestons_law_under_the_contact", "scipy quad",
    ),
    "removal.outgrows_grain": (f"{REMOVAL}::test_outgrows_grain_exactly_at_the_limit", "limit"),
    "removal.cutting_power": (f"{SPEEDS}::test_horsepower_rule", "published rule, units by pint"),
    "removal.tangential_force": (f"{SPEEDS}::test_printed_cutting_force_of_57_pounds_is_wrong", "published example"),
    "removal.removal_rate": (f"{SPEEDS}::test_surface_grinding_question_of_a_textbook", "published example"),
    "removal.preston_coefficient": (f"{SPEEDS}::test_removal_table", "worked table"),
    "roughness.floor_ra": (f"{SCALES}::test_sanitary_chart_lies_inside_the_default_band", "published chart"),
    "roughness.peak_to_valley": (f"{SCALES}::test_shop_factor_for_rz", "synthetic profiles"),
    "roughness.disturbed_layer": (f"{ROUGH}::test_decay_depth_and_layers_are_plain_products", "definition"),
    "roughness.stock_to_erase": (f"{ROUGH}::test_stock_is_the_larger_of_two", "definition"),
    "roughness.left_after_clearing": (f"{ROUGH}::test_decay_depth_and_layers_are_plain_products", "definition"),
    "roughness.decay_depth": (f"{ROUGH}::test_decay_depth_and_layers_are_plain_products", "definition"),
    "roughness.ra_after": (f"{ROUGH}::test_decay_table_and_its_equation", "scipy ODE"),
    "shrinking.diameter_after": (f"{SHRINK}::test_a_wheel_worn_part_by_part", "worn part by part"),
    "shrinking.wheel_volume": (f"{SHRINK}::test_shrinking_follows_its_equation", "scipy ODE"),
    "shrinking.wear_rate": (f"{SHRINK}::test_shrinking_follows_its_equation", "scipy ODE"),
    "shrinking.wear_ratio_from_life": (f"{SHRINK}::test_shrinking_follows_its_equation", "scipy ODE"),
    "shrinking.parts_between": (f"{SHRINK}::test_a_wheel_worn_part_by_part", "worn part by part"),
    "shrinking.diameter_after_parts": (f"{SHRINK}::test_a_wheel_worn_part_by_part", "worn part by part"),
    "shrinking.marked_rpm": (f"{SHRINK}::test_a_worn_wheel_keeps_its_marked_rpm_and_runs_slower_than_marked", "law"),
    "shrinking.change_out": (f"{SHRINK}::test_change_out_by_walking_down", "walked down in steps"),
    "shrinking.rpm_schedule": (
        f"{SHRINK}::test_rows_of_the_schedule_hold_the_speed_until_the_limit", "scipy quad",
    ),
    "shrinking.stroke_for_wear": (f"{SHRINK}::test_stroke_is_a_budget", "definition"),
    "shrinking.reindex": (f"{SHRINK}::test_touch_off_by_wearing_part_by_part", "worn part by part"),
    "shrinking.force_lost": (f"{SHRINK}::test_stroke_is_a_budget", "definition"),
    "shrinking.stiffness_factor": (f"{SHRINK}::test_a_flap_as_a_cantilever_and_a_web_as_a_block", "scipy quad"),
    "shrinking.stiffness_flags": (f"{SHRINK}::test_a_flap_as_a_cantilever_and_a_web_as_a_block", "limit"),
    "shrinking.force_trim": (f"{SHRINK}::test_force_trim_on_a_bed_of_springs", "bed of springs by scipy"),
    "speed.surface_speed": (f"{SPEEDS}::test_five_inch_wheel_at_1200_rpm", "published example, pint"),
    "speed.rotational_speed": (f"{SPEEDS}::test_rotational_speed_agrees_with_pint_in_radians", "pint"),
    "speed.diameter_for": (f"{SPEEDS}::test_smallest_wheel_on_a_3000_rpm_spindle", "worked example"),
    "timing.step_over": (f"{TIMING}::test_step_over_covers_each_point_as_often_as_the_overlap_says", "counted"),
    "timing.strokes_across": (f"{TIMING}::test_strokes_across_exactly_on_and_past_a_whole_number", "counted"),
    "timing.stroke_length": (f"{TIMING}::test_a_stroke_runs_on_and_off", "counted"),
    "timing.area_time": (f"{TIMING}::test_area_time_is_the_time_along_all_strokes", "stroke by stroke"),
    "timing.strip_time": (f"{TIMING}::test_area_time_is_the_time_along_all_strokes", "stroke by stroke"),
    "timing.step_time": (f"{TIMING}::test_area_time_is_the_time_along_all_strokes", "definition"),
    "timing.whole_passes": (f"{TIMING}::test_whole_passes", "counted"),
    "timing.trimmed_feed": (f"{TIMING}::test_trimmed_feed_gives_exactly_the_stock", "the stock it must give"),
    "wear.cut_rate": (f"{WEAR}::test_fading_follows_its_equation", "scipy ODE"),
    "wear.cut_rate_after": (f"{WEAR}::test_fading_follows_its_equation", "scipy ODE"),
    "wear.volume_cut": (f"{WEAR}::test_fading_follows_its_equation", "scipy ODE"),
    "wear.time_to_cut": (f"{WEAR}::test_fading_follows_its_equation", "scipy ODE"),
    "wear.volume_at_share": (f"{WEAR}::test_volume_at_share_leaves_that_share", "the rate it leaves"),
    "wear.break_in_factor": (f"{WEAR}::test_breaking_in_only_slows_down", "law"),
    "wear.cutting_volume_of_belt": (f"{WEAR}::test_twice_the_belt_lasts_twice_as_long", "law"),
    "wear.cutting_volume_from_life": (f"{WEAR}::test_a_known_life_gives_back_the_fading", "scipy brentq"),
    "wear.change_point": (f"{WEAR}::test_change_point_is_the_cheapest_volume", "scipy minimize"),
    "wear.parts_per_media": (f"{WEAR}::test_parts_per_media_by_cutting_one_after_another", "one after another"),
}  # fmt: skip


def formulas() -> set[str]:
    found = set()
    for module in iter_modules(advisor.process.__path__):
        if module.name == "real":
            continue  # arithmetic for numbers and arrays alike
        loaded = import_module(f"advisor.process.{module.name}")
        for name, each in vars(loaded).items():
            if not name.startswith("_") and inspect.isfunction(each) and each.__module__ == loaded.__name__:
                found.add(f"{module.name}.{name}")
    return found


def test_every_formula_names_what_checks_it() -> None:
    assert formulas() == set(CHECKED)


@pytest.mark.parametrize("name", sorted({test for test, _ in CHECKED.values()}))
def test_the_check_exists(name: str) -> None:
    path, _, function = name.partition("::")
    assert f"def {function}(" in (TESTS / path).read_text(encoding="utf-8")


#: What a test reaches through another function: the stream behind draws, the approach of a contact.
THROUGH = {"bands.seed_of", "local.flattening", "local.proportional", "local.strip", "contact.plane_modulus"}


@pytest.mark.parametrize("formula", sorted(set(CHECKED) - THROUGH))
def test_the_check_calls_its_formula(formula: str) -> None:
    path, _, function = CHECKED[formula][0].partition("::")
    text = (TESTS / path).read_text(encoding="utf-8")
    body = text.partition(f"def {function}(")[2].partition("\ndef ")[0]
    assert formula.partition(".")[2] in body
