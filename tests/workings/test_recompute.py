"""The printed working alone, read like a person with a calculator: every equation comes out."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import pytest

from thermo.event import solve_whole
from thermo.scenario_io import read_scenario
from thermo.workings import book
from thermo.workings.bench import Bench
from tui.text_working import working_text

ROOT = Path(__file__).parents[2]
NAMES = {"sqrt": math.sqrt, "exp": math.exp, "ln": math.log, "atan": math.atan, "min": min,
         "max": max, "abs": abs, "pi": math.pi}
NUMBER = r"-?(?:\d+\.?\d*(?:e[-+]?\d+)?)"

TEN = [
    # cooling
    "cooling.boil_margin_K", "cooling.after_boil_margin_K", "cooling.effectiveness_at_peak",
    "cooling.ntu_at_peak", "cooling.tank_pressure_peak_Pa", "cooling.headspace_needed_m3",
    "cooling.tank_water_kg", "cooling.centre_of_mass_shift_m", "cooling.flow_lost_boil_s",
    "cooling.heat_total_J", "cooling.boil_temperature_degC", "flags.relief-size",
    "flags.panel-stress", "flags.coolant-flash", "audit.stored_J",
    # intake and air
    "intake.ram_gain_Pa", "intake.duct_loss_Pa", "intake.net_Pa", "intake.recovery",
    "intake.air_flow_kg_per_s", "intake.density_ratio", "intake.momentum_drag_N",
    "intake.power_ratio_to_bonnet_inlet", "site.density_kg_per_m3", "site.density_altitude_m",
    "site.j1349_factor",
]


@cache
def bench(name: str) -> Bench:
    return Bench(solve_whole(read_scenario(ROOT / "scenarios" / f"{name}.toml", ()).scenario))


@dataclass
class Printed:
    """One step as printed: equation, numbers put in, answer."""

    equation: str
    given: dict[str, float]
    answer: tuple[str, str]


def steps_of(text: str) -> list[Printed]:
    """Read the steps that have an equation back from the printed text."""
    found: list[Printed] = []
    equation, given = "", {}
    for line in text.splitlines():
        symbol = re.match(rf"^ {{6}}(\w+) = ({NUMBER}|none|endless)(?= |$)", line)
        answer = re.match(rf"^ {{4}}so (\w+) = ({NUMBER}|none|-?endless)(?= |$)", line)
        if re.match(r"^\d+\. ", line):
            equation, given = "", {}
        elif answer:
            found.append(Printed(equation, given, (answer[1], answer[2])))
        elif symbol:
            given[symbol[1]] = float({"none": "nan", "endless": "inf"}.get(symbol[2], symbol[2]))
        elif re.match(r"^ {4}\w+ = ", line) and not given:
            equation = line.strip()
        elif re.match(r"^ {8}\S", line) and equation and not given:
            equation += " " + line.strip()
    return found


def agrees(step: Printed) -> bool:
    """Say whether the right side comes to the printed answer, to its last digit."""
    name, _, right = step.equation.partition(" = ")
    told = step.answer[1]
    assert name == step.answer[0]
    assert re.fullmatch(r"[\w\s.+\-*/^(),]+", right), right
    got = eval(right.replace("^", "**"), {"__builtins__": {}}, {**NAMES, **step.given})
    if told in ("none", "endless", "-endless"):
        return True
    digits = re.sub(r"e.*", "", told.lstrip("-"))
    after = len(digits.partition(".")[2])
    power = int(told.partition("e")[2] or 0)
    last = 10.0 ** (power - after)
    if "." not in digits and "e" not in told:
        # six digits at most are told: trailing zeros of large whole numbers are not digits
        last = 10.0 ** max(len(digits) - 6, 0)
    scale = max((abs(v) for v in step.given.values() if math.isfinite(v)), default=0.0)
    rounding = 2e-8 * scale if float(told) == 0.0 else 0.0
    return abs(got - float(told)) <= max(1.001 * last, rounding)


@pytest.mark.parametrize("name", TEN)
def test_the_answer_follows_from_the_printed_working(name):
    one = bench("hot_day")
    steps = steps_of(working_text(book.working_of(one, name), one.result.title))
    assert steps, name
    for step in steps:
        assert agrees(step), (name, step)


@pytest.mark.parametrize("scenario", ["plate", "long_course", "overreach", "second_pass"])
def test_every_printed_equation_of_a_scenario_comes_out(scenario):
    one = bench(scenario)
    count = 0
    for name in book.makers():
        if one.duct is None and name.startswith("intake."):
            continue
        made = book.working_of(one, name)
        printed = steps_of(working_text(made, one.result.title))
        told = [s for s in (*made.steps, *made.hand) if s.equation]
        assert len(printed) == len(told), name
        for step in printed:
            assert agrees(step), (name, step)
            count += 1
    assert count > 200


def test_the_reader_of_workings_can_fail():
    text = "1. x\n    a = b + c\n      b = 1 m  one\n      c = 2 m  two\n    so a = {} m\n"
    assert agrees(steps_of(text.format("3"))[0])
    assert not agrees(steps_of(text.format("3.02"))[0])
