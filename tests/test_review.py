"""What is expected of a design, by hand, and the questions that have to notice a bad one."""

import numpy as np
import pytest

import cellkit as ck
from cellkit import Q_, InputError
from cellkit.designs import losses
from cellkit.designs.review import Review, active_share, mended, reviews

PLAN = ck.designs.read_design("osier_yard_design.csv")  # invented
ALL = reviews(PLAN)
REBUILT = [name for name, review in ALL.items() if review.rebuilt]


def varied(construction="copper", **changes):
    values = {name.replace("_", " "): value for name, value in changes.items()}
    return Review(ck.designs.Design.varied.si(PLAN, values), construction)


def answers(review):
    return {finding.question: finding.yes for finding in review.findings()}


def test_all_five_constructions_are_reviewed():
    assert tuple(ALL) == tuple(ck.designs.CONSTRUCTIONS)
    assert REBUILT == ["copper", "zinc", "copper with tank"]


def test_room_by_hand():
    """56 g of acid at 1.27 g/mL, 70 g of lead at 11.3 g/mL out, 6 g of plates at 1.5 g/mL (from memory) in."""
    assert ALL["copper"].free_volume.magnitude == pytest.approx(56 / 1.27 + 70 / 11.3 - 6 / 1.5, abs=0.05)
    assert ALL["lead"].free_volume.magnitude == pytest.approx(56 / 1.27, abs=0.05)


def test_charging_by_hand():
    """(40 mL × 1 mol/L) 0.04 mol × 2 F in 20 h; 0.05 × 3 cells × that current of air, EN IEC 62485-2 from memory."""
    current = 0.04 * 2 * 96485.33 / (20 * 3600)
    assert ALL["copper"].charging_current.to("A").magnitude == pytest.approx(current, rel=1e-4)
    assert ALL["copper"].ventilation_rate.magnitude == pytest.approx(0.05 * 3 * current, rel=1e-4)
    assert ALL["lead"].charging_current.to("mA").magnitude == pytest.approx(3100 / 20)


@pytest.mark.parametrize("name", REBUILT)
@pytest.mark.parametrize(("case", "end"), [("best", 0), ("worst", 1)])
def test_end_of_charge_is_rest_plus_what_the_current_costs(name, case, end):
    """Where diffusion stops it; a positive that makes oxygen stands from its rest potential to that of a smooth one."""
    review, path = ALL[name], PLAN.current_path(case)
    depth = review.full_depth()
    now = ck.cells.voltage_under_load(review.cell, path, review.charging_current, depth)
    lost = (now.rest - now.terminal).magnitude
    assert review.charging()[end].magnitude == pytest.approx(now.rest.magnitude + lost)
    full = review.cell.at_depth(depth)
    solution = full.acid / full.water, full.salt / full.water, review.cell.negative
    density = review.charging_current.to("A").magnitude / PLAN.current_path().area
    oxygen = end * ck.chemistry.side_reactions.oxygen_overpotential(density, *solution)
    others = lost - now.positive_overpotential.magnitude
    assert review.charging(first=True)[end].magnitude == pytest.approx(now.rest.magnitude + others + oxygen)


def test_first_charge_stops_where_the_ions_cannot_follow():
    """107 mA on 148.8 cm² is 7.2 A/m²: × 1.5 mm / (4 F × 5.2e-10 × 0.93^1.5) = 60 mol/m³, of 0.852 mol/L 7.0 %."""
    assert ALL["copper"].full_depth() == pytest.approx(0.0704, rel=0.01)
    assert varied(felt_thickness=3e-3).full_depth() == pytest.approx(2 * ALL["copper"].full_depth())
    hopeless = varied(felt_thickness=0.1)
    assert hopeless.full_depth() < 1
    assert np.isfinite(hopeless.first_charge_limit.magnitude)


def test_air_for_zinc_follows_the_published_bound():
    """The published upper bound of the rate needs 25 times its volume in air to stay under 4 %, and a margin."""
    bound = ALL["zinc"].hydrogen_bound().rate.to("m^3/hour").magnitude
    assert ALL["zinc"].ventilation_rate.magnitude > 4 * bound / 0.04
    assert bound > 1  # on so much felt; 107 mA in three cells alone would be 0.00015


def test_lead_is_charged_and_emptied_as_the_trade_does():
    """2.40 V on charge and 1.75 V on load for each cell: common practice, no source."""
    low, high = ALL["lead"].charging()
    assert (low, high) == (Q_(2.40, "V"), Q_(2.40, "V"))
    assert ALL["lead"].end_voltage == Q_(1.75, "V")
    assert ALL["copper"].end_voltage == PLAN["end voltage"]


@pytest.mark.parametrize("name", ALL)
def test_poor_is_never_better_than_good(name):
    for span in (ALL[name].under_load(0.1), ALL[name].under_load(0.9), ALL[name].run()):
        assert span.worst <= span.nominal <= span.best


def test_run_by_hand():
    """2.144 Ah at 0.1 A, since the volts stay above the end."""
    assert ALL["copper"].run().nominal.magnitude == pytest.approx(21.44, abs=0.1)


def test_a_load_that_it_cannot_carry_runs_no_hours():
    assert np.isnan(varied(end_voltage=1.6).run().best.magnitude)


@pytest.mark.parametrize(
    ("question", "changes"),
    [
        ("Does the liquid fit in?", {"fill_volume": 35e-6}),
        ("Does the felt hold all the metal?", {"felt_fill": 0.01}),
        ("Does it stay dissolved in the cold?", {"fill_salt": 600.0}),
        ("Does something other than felt or acid end it?", {"felt_fill": 0.01}),
        ("Are there volts enough for the load?", {"end_voltage": 1.25}),
        ("Do the ions follow the charging current?", {"felt_thickness": 4e-3}),
        ("Is so much metal plated without needles?", {"plate_height": 0.03}),
        ("Is there acid enough for the positive?", {"fill_acid": 200.0}),
    ],
)
def test_each_question_changes_its_answer(question, changes):
    before, after = answers(varied())[question], answers(varied(**changes))[question]
    assert before != after


def test_needles_and_weak_acid_by_hand():
    """2.144 Ah on 148.8 cm² are 14 mAh/cm², shown was 20; from 2.0 to 0.37 mol/L 1.51 of 1.65 lie above 0.5: 92 %."""
    because = {finding.question: finding.because for finding in ALL["copper"].findings()}
    assert because["Is so much metal plated without needles?"].startswith("14 mAh on each cm² of face")
    assert "in 92 % of 2.0 to 0.4 mol/L" in because["Is there acid enough for the positive?"]


def test_oxygen_of_the_positive_takes_copper_by_hand():
    """Through 1 mm of mat: 4 F × 2.42e-9 × 0.276 / 0.2095 / 1 mm × 148.8 cm² = 18.3 mA; zinc has worse to fear."""
    question = "Does charging keep its metal?"
    because = {name: {f.question: f.because for f in ALL[name].findings()}[question] for name in REBUILT}
    assert "oxygen of a full positive may take 18 mA" in because["copper"]
    assert "oxygen" not in because["zinc"]


def test_acid_that_ends_it_is_noticed():
    weak = varied(fill_acid=0.0, held_electrolyte=0.001)
    assert weak.cell.limiting == "acid"
    assert not answers(weak)["Does something other than felt or acid end it?"]


def test_gain_goes_by_the_block():
    question = "Does it beat the block as it was?"
    assert [name for name, review in ALL.items() if answers(review).get(question)] == []
    assert question not in answers(ALL["lead"])


def test_tank_is_not_counted_as_liquid_in_the_cell():
    assert ALL["copper"].findings()[0] == ALL["copper with tank"].findings()[0]


def test_a_charged_positive_does_not_take_the_first_charge():
    question = "Does the positive take the first charge?"
    assert [answers(ALL[name])[question] for name in REBUILT] == [False] * 3
    emptied = PLAN.values | {"positives": "discharged", "electrolyte density": 1090.0}
    first = Review(ck.designs.Design(type(PLAN.values)(emptied)), "copper")
    for review, says in ((ALL["copper"], "0.5 L of oxygen in each cell"), (first, "lead sulfate takes the charge")):
        assert says in {finding.question: finding.because for finding in review.findings()}[question]
    assert answers(first)[question]
    assert ALL["copper"].first_charge.oxygen_volume.magnitude == pytest.approx(
        0.02 * 24.465, rel=1e-3
    )  # molar volume, memory


def test_what_is_left_over_by_hand():
    """Three cells: (56 - 10) g at 1.27 g/mL pressed out; 0.04 mol of copper plated leaves as much more acid."""
    pressed, spent, fill = ALL["copper"].pressed_out(), ALL["copper"].spent(), ALL["copper"].cell.electrolyte
    assert pressed.mass.magnitude == pytest.approx(138)
    assert pressed.density.magnitude == pytest.approx(1.27, abs=1e-4)
    assert spent.acid == pytest.approx(3 * (fill.acid + 0.04))
    assert spent.salt == pytest.approx(0, abs=1e-12)
    with pytest.raises(InputError, match=r"mats hold 60.0 g of acid, a cell had only 56.0 g"):
        varied(held_electrolyte=0.06).pressed_out()


def test_an_unknown_construction_is_refused():
    with pytest.raises(InputError, match="construction is 'silver'"):
        Review(PLAN, "silver").findings()


# --- side reactions


def test_zinc_on_felt_by_hand():
    """148.8 cm² of faces with 1.5 mm of felt: 4 × 0.07 / 10 µm × 1.5 mm = 42 times as much, 0.62496 m² of fibres.

    At half depth (1.264 mol/kg of acid, 0.442 of salt) zinc lies 0.7959 V below hydrogen and a(H+) is 0.8155: with
    2.5e-7 A/m², ½ and 0.1 V more that is 9.08 A/m², 5.68 A, far more than the 107 mA: nothing stays.
    """
    charging, resting = losses.losses(PLAN, ALL["zinc"].cell, losses.NOMINAL)
    assert charging == pytest.approx(5.68, rel=0.01)
    assert charging / resting == pytest.approx(10 ** (0.1 / 0.11832), rel=1e-3)
    assert all(share.magnitude == 0 for share in ALL["zinc"].current_efficiency())
    # nor at the 429 mA of five hours, so that speed is no help: 0.04 mol × 2 F in twenty
    assert ALL["zinc"].charging_current.to("A").magnitude == pytest.approx(0.04 * 2 * 96485.33 / 72_000, rel=1e-4)


def test_a_flat_plate_keeps_zinc_at_a_current_that_pays():
    """On the bare faces 135 mA are lost; nine tenths would stay at 1.35 A, and five hours allow 0.43 A: 69 %."""
    flat = varied("zinc", felt_thickness=30e-6, felt_fill=1.0, new_negative_plates=6e-3)
    area, face = losses.metal_area(flat.design, 10e-6), 0.01488
    assert area == pytest.approx(face)
    lost = float(losses.losses(flat.design, ALL["zinc"].cell, losses.NOMINAL)[0])
    assert lost == pytest.approx(0.1351, rel=0.01)
    current = float(losses.charging_current(flat.design, ALL["zinc"].cell))
    assert current == pytest.approx(0.04 * 2 * 96485.33 / 18_000, rel=1e-4)
    kept = losses.efficiency(flat.design, ALL["zinc"].cell, current, losses.NOMINAL)
    assert kept == pytest.approx(1 - lost / current)


def test_copper_loses_nothing_while_charging_and_at_rest_what_air_takes_from_its_faces():
    """2.7 g/(m² d) of 148.8 cm², two electrons for each of 63.546 g/mol: 1.412 mA; above hydrogen it makes no gas."""
    charging, resting = losses.losses(PLAN, ALL["copper"].cell, losses.NOMINAL)
    assert charging == 0
    assert resting == pytest.approx(2.7 / 86_400 * 0.01488 / 63.546 * 2 * 96_485.33, rel=1e-3)


def test_copper_keeps_its_charge_for_weeks():
    """2.7 g/(m² d) of 148.8 cm² is 1.41 mA; 100/101.41 of 97 % come back; 2.144 Ah / 1.41 mA = 1518 h."""
    review = ALL["copper"]
    assert review.charge_returned().nominal.to("").magnitude == pytest.approx(0.97 * 100 / 101.41, rel=1e-3)
    assert review.delivered(Q_(50, "mA")).nominal.to("").magnitude == pytest.approx(50 / 51.41, rel=1e-3)
    assert review.shelf_time().nominal.magnitude == pytest.approx(2144.1 / 1.412, rel=2e-3)
    assert not review.corrodes


@pytest.mark.parametrize("name", REBUILT)
def test_spans_of_side_reactions_are_in_order(name):
    for span in (ALL[name].current_efficiency(), ALL[name].charge_returned(), ALL[name].shelf_time()):
        assert span.worst <= span.nominal <= span.best


@pytest.mark.parametrize("name", ALL)
def test_no_more_hydrogen_than_the_charge(name):
    """Faraday: 0.4565 L/Ah at 25 °C; the rate is at least that of the whole charging current."""
    rate, total = ALL[name].hydrogen_bound()
    charge = ALL[name].first_charge.charge if name in REBUILT else ALL[name].cell.capacity
    assert total.magnitude == pytest.approx(3 * charge.to("Ah").magnitude * 0.4565, rel=1e-3)
    assert rate.magnitude >= 0.999 * 3 * ALL[name].charging_current.to("A").magnitude * 0.4565


def test_a_cell_that_cannot_be_is_one_finding():
    strong = Review(PLAN.varied({"fill salt": Q_(1.5, "mol/L")}), "copper")
    assert [(finding.question, finding.yes) for finding in strong.findings()] == [("Can it be built?", False)]
    assert "more than dissolves" in strong.findings()[0].because


# --- does it fit, does it stay dissolved, is the list's own current used

STACK = "Does the stack fit into the jar?"


def test_the_stack_by_hand():
    """28 mm less 3 × 2.0, 4 × 0.3 and 6 × 1.5 mm, over six gaps: 1.97 mm for mats of 2.7 mm, pressed by 27 %."""
    because = next(f.because for f in ALL["copper"].findings() if f.question == STACK)
    assert because.startswith(f"{(28 - 6 - 1.2 - 9) / 6:.1f} mm are left")
    assert answers(ALL["copper"])[STACK]
    assert not answers(varied(felt_thickness=0.003))[STACK]  # crushed
    assert "thicker than the jar" in varied(felt_thickness=0.005).findings()[-2].because
    assert not answers(varied(felt_thickness=0.0005))[STACK]  # no pressure left


def test_a_stack_that_was_not_measured_is_not_known():
    listed = {name: value for name, value in PLAN.values.items() if name != "new plate thickness"}
    finding = next(f for f in Review(ck.designs.Design(listed), "zinc").findings() if f.question == STACK)
    assert not finding.yes
    assert finding.because == "not known; add to the list: new plate thickness"


def test_cold_is_my_own_and_at_the_lower_edge():
    """A fill between the lower edge, 20 % below the estimate, and the estimate is not safe; warmth makes it so."""
    question = "Does it stay dissolved in the cold?"
    salt = varied(fill_salt=850.0)
    fill = salt.cell.electrolyte
    most = ck.chemistry.solubility.si("copper", fill.acid / fill.water, 283.15)
    assert 0.8 * most < fill.salt / fill.water < most
    assert not answers(salt)[question]
    assert answers(varied(fill_salt=850.0, coldest_place=298.15))[question]


def test_a_listed_charging_current_counts():
    assert varied(charging_current=0.05).charging_current.to("mA").magnitude == pytest.approx(50)
    own = Review(PLAN.varied({"zinc charging current": Q_(80, "mA")}), "zinc")
    assert own.charging_current.to("mA").magnitude == pytest.approx(80)


def test_zinc_ends_where_its_list_says():
    assert ALL["zinc"].end_voltage.magnitude == pytest.approx(1.9)
    assert ALL["copper"].end_voltage.magnitude == pytest.approx(1.13)


# --- after a rest, and what guards the wires


def test_a_week_at_rest_by_hand():
    """1.7 to 4.4 g/m² a day on 148.8 cm², 0.8435 Ah/g: 0.149 to 0.387 Ah in a week, of 2.144, and 6.1 % stay behind."""
    copper = ALL["copper"]
    for case, rate in (("best", 1.7), ("nominal", 2.7), ("worst", 4.4)):
        depth = copper.full_depth() + rate * 0.01488 * 7 * 0.8435 / 2.1441
        sign = {"best": 1, "nominal": 0, "worst": -1}[case]
        expected = copper.cell.rest_voltage(depth) + sign * copper.cell.rest_voltage_uncertainty(depth)
        assert getattr(copper.after_a_week(), case).magnitude == pytest.approx(expected.to("V").magnitude, abs=2e-4)
    assert all(np.isnan(volts.magnitude) for volts in ALL["zinc"].after_a_week())
    assert ALL["lead"].after_a_week() is None


def test_a_fuse_lies_between_load_and_wire():
    """R10 of ISO 3, from memory: 125 follows 100 mA; flexible cord of 0.5 mm² carries 3 A, of 1.5 mm² 15 A (pages)."""
    for load, fuse, wire in ((0.1, 0.125, 0.5), (0.125, 0.16, 0.5), (2.4, 2.5, 0.5), (2.6, 3.15, 0.75), (9.0, 10, 1.5)):
        found = varied(load_current=load, charging_current=0.05).fuse()
        assert [each.magnitude for each in found[:2]] == pytest.approx([fuse, wire])
        assert load < found[0].magnitude < found[2].magnitude
    assert varied(load_current=0.1, charging_current=0.3).fuse()[0].magnitude == pytest.approx(0.315)
    for step in range(-10, 10):  # each of the ten in a decade is 10^(1/10) of the one before, rounded
        found = varied(load_current=1.02 * 10 ** (step / 10), charging_current=0.05).fuse()[0].magnitude
        assert found == pytest.approx(10 ** ((step + 1) / 10), rel=0.013)
    with pytest.raises(InputError, match=r"13 A is more than the wires .* licensed electrician"):
        varied(load_current=13.0).fuse()


def test_zinc_without_an_end_of_its_own_is_not_emptied_like_copper():
    """1.75 V and what zinc stands below lead, 0.7623 - 0.3550 V (the table): 2.157 V; its own row counts as it is."""
    listed = {item: value for item, value in PLAN.values.items() if item != "zinc end voltage"}
    plain = ck.designs.Design(listed)
    assert plain.end_voltage("zinc") == pytest.approx(1.75 + 0.7623 - 0.3550)
    assert plain.end_voltage("copper") == pytest.approx(1.13)
    assert PLAN.end_voltage("zinc") == pytest.approx(1.9)


# --- a plan that is mended


@pytest.mark.parametrize("name", REBUILT)
def test_a_mended_plan_fits_dissolves_and_does_not_end_by_acid(name):
    before, after = PLAN, Review(mended(PLAN, name), name)
    told = answers(after)
    for question in (
        "Does the liquid fit in?",
        "Does the felt hold all the metal?",
        "Does it stay dissolved in the cold?",
        "Is so much metal plated without needles?",
    ):
        assert told[question], question
    assert after.cell.limiting in ("metal ions", "PbO2")
    metal, tank = after.chosen.metal, before.values["tank volume"] if after.chosen.tank else 0.0
    assert after.design.planned("fill volume", metal) <= before.planned("fill volume", metal)
    # 3.1 Ah and a twentieth are 60.73 mmol at 2 F; steps of 2 % down to the first that passes: one more does not
    volume, salt = (after.design.planned(f"fill {what}", metal) for what in ("volume", "salt"))
    steps = (volume + tank) * salt / 60.73e-3 / 0.02
    assert steps == pytest.approx(round(steps), abs=0.01)
    more = Review(after.design.varied({f"{metal} fill salt": Q_(salt * (1 + 1 / steps), "mol/m^3")}), name)
    assert more.refused or not all(
        answers(more)[question] for question in told if "dissolved" in question or "needles" in question
    )
    other = "zinc" if metal == "copper" else "copper"
    assert after.design.cell(other).capacity == before.cell(other).capacity


def test_mended_zinc_by_hand():
    """46.3 mL of room less 7.9 mL held and 1 mL to spare, and what was plated free of needles.

    20 mAh on each of 148.8 cm² (6 faces of 40 mm × 62 mm) are 2.976 Ah. Steps of 2 % go down to 0.90 of 3.1 Ah × 1.05.
    """
    plan = mended(PLAN, "zinc")
    assert plan["zinc fill volume"].to("mL").magnitude == pytest.approx(
        56 / 1.27 + 70 / 11.35 - 4 - 10 / 1.27 - 1, abs=0.1
    )
    assert plan["zinc fill salt"].to("mol/L").magnitude == pytest.approx(0.9 * 3.1 * 1.05 / 53.604 / 0.03741, rel=2e-3)
    # 2 × 1.05 × 54.7 mmol asked for, 54.7 come from the plated zinc, 37.0 are held
    assert plan["zinc fill acid"].to("mol/L").magnitude == pytest.approx((114.8 - 54.7 - 37.0) / 37.41, rel=0.02)


def test_positives_that_keep_half_want_half_the_metal():
    """3.1 Ah / 2 × 1.05 at 53.604 Ah/mol are 30.4 mmol, in the 37.4 mL that are poured; no needles at 11 mAh/cm²."""
    plan = mended(PLAN.varied({"charge kept by positives": Q_(50, "percent")}), "zinc")
    assert plan["zinc fill salt"].to("mol/L").magnitude == pytest.approx(30.36 / 37.415, rel=1e-3)


def test_a_plan_that_cannot_be_built_can_be_mended():
    strong = PLAN.varied({"fill salt": Q_(1.5, "mol/L")})
    assert Review(strong, "copper").refused
    assert not Review(mended(strong, "copper"), "copper").refused


def test_what_cannot_be_mended_says_why():
    with pytest.raises(InputError, match="press them harder"):
        mended(PLAN.varied({"held electrolyte": Q_(58, "g")}), "copper")
    with pytest.raises(InputError, match="no copper solution stays dissolved at 10 °C"):
        mended(PLAN.varied({"fill acid": Q_(9, "mol/L")}), "copper")
    with pytest.raises(InputError, match="whose fill stays as it is"):
        mended(PLAN, "lead")


# --- how much of a discharge the acid lets the positive give


def test_active_depth_by_hand():
    """From 2 to 0.1 mol/L: 1.5 of 1.9 lie above 0.5; from 6 to 4: 1 of 2 below 5; no change: all or nothing."""
    charged, discharged = np.array([2, 6, 1, 0.3, 0.3]) * 1000, np.array([0.1, 4, 1, 0.3, 0.1]) * 1000
    assert active_share(charged, discharged) == pytest.approx([1.5 / 1.9, 0.5, 1, 0, 0], abs=1e-9)
