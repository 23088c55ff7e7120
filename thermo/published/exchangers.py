"""Published cases of effectiveness-NTU: closed forms, textbook tables and worked examples."""

from __future__ import annotations

import math
from collections.abc import Mapping

from thermo.exchanger import effectiveness, heat_rate, ntu_for
from thermo.published.case import Case, Expected
from thermo.wall import overall


def _eps(*points: tuple[str, float, float]) -> Mapping[str, float]:
    return {f"eff {name} {ntu:g} {cr:g}": effectiveness(name, ntu, cr) for name, ntu, cr in points}


def _want(tol: float, values: Mapping[str, float]) -> Mapping[str, Expected]:
    return {label: Expected(value, "-", abs=tol) for label, value in values.items()}


def _hx07() -> Mapping[str, float]:
    return {
        "larger stream mixed": effectiveness("crossflow-hot-mixed", 5.0, 0.7, hot_is_min=False),
        "smaller stream mixed": effectiveness("crossflow-hot-mixed", 5.0, 0.7, hot_is_min=True),
        "larger mixed, cold": effectiveness("crossflow-cold-mixed", 5.0, 0.7, hot_is_min=True),
        "smaller mixed, cold": effectiveness("crossflow-cold-mixed", 5.0, 0.7, hot_is_min=False),
    }


def _oil_cooler() -> Mapping[str, float]:
    c_oil, c_water = 0.1 * 2131.0, 0.2 * 4178.0
    heat = c_oil * 40.0
    water_out = 30.0 + heat / c_water
    u = overall(5.63 * 0.138 / 0.020, 2250.0)
    ntu = ntu_for("counterflow", 40.0 / 70.0, c_oil / c_water)
    return {
        "q": heat, "water out": water_out, "U": u,
        "length": ntu * c_oil / (u * math.pi * 0.025),
    }


def _oil_cooler_ntu() -> Mapping[str, float]:
    c_oil, c_water = 213.1, 835.6
    ntu = ntu_for("counterflow", 40.0 / 70.0, c_oil / c_water)
    heat, eps, _ = heat_rate("counterflow", ntu * c_oil, c_oil, c_water, 100.0, 30.0)
    return {"NTU": ntu, "UA": ntu * c_oil, "eff": eps, "q": heat}


def _exhaust_heater() -> Mapping[str, float]:
    c_water = 4197.0
    heat = c_water * 90.0
    c_gas = heat / 200.0
    eps = heat / (c_gas * 265.0)
    ntu = ntu_for("crossflow-unmixed", eps, c_gas / c_water)
    return {"C gas": c_gas, "eff": eps, "NTU": ntu, "area": ntu * c_gas / 100.0}


def _steam_oil() -> Mapping[str, float]:
    c_oil, c_steam = 0.725 * 1900.0, 5.2 * 1860.0
    heat, eps, ntu = heat_rate("crossflow-hot-mixed", 275.0 * 10.82, c_steam, c_oil, 130.0, 15.0)
    return {
        "NTU": ntu, "eff": eps, "q": heat,
        "oil out": 15.0 + heat / c_oil, "steam out": 130.0 - heat / c_steam,
    }


def _geothermal() -> Mapping[str, float]:
    c_water, c_brine = 1.2 * 4180.0, 2.0 * 4310.0
    eps = 60.0 / 140.0
    heat = eps * c_water * 140.0
    ntu = ntu_for("counterflow", eps, c_water / c_brine)
    area = ntu * c_water / 640.0
    return {
        "q": heat, "brine out": 160.0 - heat / c_brine, "eff": eps, "NTU": ntu,
        "area": area, "length": area / (math.pi * 0.015), "mean difference": heat / (640.0 * area),
    }


def _multipass() -> Mapping[str, float]:
    c_oil, c_water = 0.3 * 2130.0, 0.2 * 4180.0
    area = 8 * math.pi * 0.014 * 5.0
    heat, eps, ntu = heat_rate("shell-and-tube", 310.0 * area, c_oil, c_water, 150.0, 20.0)
    return {
        "NTU": ntu, "eff": eps, "q": heat, "water out": 20.0 + heat / c_water,
        "oil out": 150.0 - heat / c_oil,
    }


def _oil_heater() -> Mapping[str, float]:
    c_oil, c_water = 1.5 * 1880.0, 0.8 * 4180.0
    heat, eps, ntu = heat_rate("counterflow", 350.0 * 15.0, c_oil, c_water, 120.0, 35.0)
    return {
        "NTU": ntu, "eff": eps, "q": heat, "oil out": 120.0 - heat / c_oil,
        "water out": 35.0 + heat / c_water,
    }


def _parallel_pipe() -> Mapping[str, float]:
    heat, eps, ntu = heat_rate(
        "parallel", 205.0 * 13.0, 1.5 * 1581.0, 0.75 * 4180.0, 115.0, 40.0)
    return {"NTU": ntu, "eff": eps, "q": heat}


def _correction_factors() -> Mapping[str, float]:
    c_hot, c_cold = 4000.0, 6.857 * 1050.0
    heat = c_hot * 270.0
    eps, cr = 270.0 / 375.0, c_hot / c_cold
    counter = ntu_for("counterflow", eps, cr)
    # The correction factor is the counterflow NTU over that of the arrangement.
    two = ntu_for("shell-and-tube", eps, cr, shells=2)
    return {
        "mean difference": heat / (counter * c_hot),
        "F 1-2": counter / ntu_for("shell-and-tube", eps, cr),
        "F 2-4": counter / two,
        "area 2-4": two * c_hot / 150.0,
        "area crossflow": ntu_for("crossflow-unmixed", eps, cr) * c_hot / 150.0,
    }


def _air_water() -> Mapping[str, float]:
    c_air, c_water = 10100.0, 7.0 * 4180.0
    heat, eps, ntu = heat_rate("crossflow-unmixed", 220.0 * 250.0, c_air, c_water, 125.0, 20.0)
    air_out = 125.0 - heat / c_air
    return {"NTU": ntu, "eff": eps, "air out": air_out, "air out, book": air_out}


def _end_to_end() -> Mapping[str, float]:
    heat, eps, ntu = heat_rate("counterflow", 6000.0, 2.0 * 3500.0, 1.5 * 4180.0, 95.0, 35.0)
    return {
        "NTU": ntu, "eff": eps, "q": heat, "coolant out": 95.0 - heat / 7000.0,
        "tank water back": 35.0 + heat / 6270.0,
    }


_TABLE = "Incropera et al., Table 11.3"
_HAND = "recomputed by hand and with an independent library"
_MEMORY = "answers from memory; recomputed by hand"

CASES: tuple[Case, ...] = (
    Case("HX-01", "counterflow, balanced", _TABLE, _HAND,
         _want(1e-9, {"eff counterflow 1 1": 0.5}), lambda: _eps(("counterflow", 1.0, 1.0))),
    Case("HX-02", "counterflow", _TABLE, _HAND,
         _want(1e-5, {"eff counterflow 2 0.5": 0.774600}), lambda: _eps(("counterflow", 2.0, 0.5))),
    Case("HX-03", "counterflow", "documentation of the ht library", _HAND,
         _want(1e-5, {"eff counterflow 5 0.7": 0.920670}), lambda: _eps(("counterflow", 5.0, 0.7))),
    Case("HX-04", "parallel flow", f"{_TABLE}; documentation of the ht library", _HAND,
         _want(1e-5, {"eff parallel 2 0.5": 0.633475, "eff parallel 5 0.7": 0.588116}),
         lambda: _eps(("parallel", 2.0, 0.5), ("parallel", 5.0, 0.7))),
    Case("HX-05", "one stream at constant temperature", "1 - exp(-NTU), any arrangement", _HAND,
         _want(1e-6, {
             "eff counterflow 0.5 0": 0.393469, "eff parallel 1 0": 0.632121,
             "eff crossflow-unmixed 3 0": 0.950213, "eff shell-and-tube 3 0": 0.950213,
             "eff crossflow-hot-mixed 3 0": 0.950213,
         }),
         lambda: _eps(("counterflow", 0.5, 0.0), ("parallel", 1.0, 0.0),
                      ("crossflow-unmixed", 3.0, 0.0), ("shell-and-tube", 3.0, 0.0),
                      ("crossflow-hot-mixed", 3.0, 0.0))),
    Case("HX-06", "crossflow, both unmixed, exact", "Shah & Sekulic (2003), Table 3.6",
         "recomputed by series, by an independent library and by finite volumes",
         _want(1e-5, {"eff crossflow-unmixed 1 1": 0.476222,
                      "eff crossflow-unmixed 2 0.5": 0.732409,
                      "eff crossflow-unmixed 5 0.7": 0.844482}),
         lambda: _eps(("crossflow-unmixed", 1.0, 1.0), ("crossflow-unmixed", 2.0, 0.5),
                      ("crossflow-unmixed", 5.0, 0.7))),
    Case("HX-07", "crossflow, one stream mixed", "Incropera et al., eq. 11.33 and 11.34", _HAND,
         _want(1e-5, {"larger stream mixed": 0.715810, "smaller stream mixed": 0.749784,
                      "larger mixed, cold": 0.715810, "smaller mixed, cold": 0.749784}), _hx07),
    Case("HX-08", "one shell, two tube passes", "Incropera et al., eq. 11.30", _HAND,
         _want(1e-5, {"eff shell-and-tube 5 0.7": 0.683498}),
         lambda: _eps(("shell-and-tube", 5.0, 0.7))),
    Case("HX-09", "ceiling of one shell, two tube passes", "limit 2/(2 + sqrt 2)", _HAND,
         _want(1e-6, {"eff shell-and-tube 1000 1": 0.585786}),
         lambda: _eps(("shell-and-tube", 1000.0, 1.0))),
    Case("HX-10", "NTU from effectiveness", "algebraic inverse", _HAND,
         {"balanced": Expected(9.0, "-", rel=1e-4), "Cr 0.5": Expected(2.0, "-", rel=1e-4)},
         lambda: {"balanced": ntu_for("counterflow", 0.9, 1.0),
                  "Cr 0.5": ntu_for("counterflow", 0.7746, 0.5)}),
    Case("HX-11", "concentric-tube oil cooler, with its films given",
         "Incropera et al., Example 11.1", _MEMORY,
         {"q": Expected(8524.0, "W", rel=0.003), "water out": Expected(40.2, "degC", rel=0.003),
          "U": Expected(38.1, "W/m2 K", rel=0.003), "length": Expected(65.9, "m", rel=0.005)},
         _oil_cooler),
    Case("HX-12", "the same cooler by effectiveness-NTU", "consistency of HX-11", _HAND,
         {"NTU": Expected(0.926, "-", rel=0.002), "UA": Expected(197.3, "W/K", rel=0.002),
          "eff": Expected(0.5714, "-", rel=0.002), "q": Expected(8524.0, "W", rel=0.002)},
         _oil_cooler_ntu),
    Case("HX-13", "exhaust gas to water, finned crossflow", "Incropera et al., Example 11.3",
         f"{_MEMORY}; the book reads a chart",
         {"C gas": Expected(1889.0, "W/K", rel=0.001), "eff": Expected(0.755, "-", rel=0.001),
          "NTU": Expected(2.1, "-", rel=0.015), "area": Expected(39.7, "m2", rel=0.015)},
         _exhaust_heater),
    Case("HX-14", "steam to oil, crossflow, steam mixed", "Holman, Heat Transfer, Example 10-9",
         "documentation of the ht library; recomputed by hand",
         {"NTU": Expected(2.160, "-", rel=0.001), "eff": Expected(0.8312, "-", rel=0.001),
          "q": Expected(131680.0, "W", rel=0.001), "oil out": Expected(110.6, "degC", rel=0.001),
          "steam out": Expected(116.4, "degC", rel=0.001)}, _steam_oil),
    Case("HX-15", "geothermal heater, counterflow double pipe",
         "Cengel, Heat and Mass Transfer, Examples 11-4 and 11-8", _MEMORY,
         {"q": Expected(301e3, "W", rel=0.005), "brine out": Expected(125.0, "degC", rel=0.005),
          "eff": Expected(0.4286, "-", rel=0.005), "NTU": Expected(0.652, "-", rel=0.005),
          "area": Expected(5.11, "m2", rel=0.005), "length": Expected(108.0, "m", rel=0.005),
          "mean difference": Expected(92.0, "K", rel=0.005)}, _geothermal),
    Case("HX-16", "oil cooler of one shell and eight tube passes",
         "Cengel, Heat and Mass Transfer, Example 11-9, its chart replaced by the formula", _MEMORY,
         {"NTU": Expected(0.853, "-", rel=0.002), "eff": Expected(0.462, "-", rel=0.002),
          "q": Expected(38.4e3, "W", rel=0.002), "water out": Expected(65.9, "degC", rel=0.002),
          "oil out": Expected(89.9, "degC", rel=0.002)}, _multipass),
    Case("HX-17", "water heated by oil, counterflow double pipe",
         "Som, Introduction to Heat Transfer, ch. 10, Example 6", "published companion seen",
         {"NTU": Expected(1.862, "-", rel=0.001), "eff": Expected(0.684, "-", rel=0.001),
          "q": Expected(163.9e3, "W", rel=0.001), "oil out": Expected(61.9, "degC", rel=0.001),
          "water out": Expected(84.0, "degC", rel=0.001)}, _oil_heater),
    Case("HX-18", "parallel-flow double pipe", "pychemengg user guide, heat exchangers, Example 2",
         "published documentation seen; recomputed by hand",
         {"NTU": Expected(1.124, "-", rel=0.002), "eff": Expected(0.490, "-", rel=0.002),
          "q": Expected(87.17e3, "W", rel=0.002)}, _parallel_pipe),
    Case("HX-19", "correction factors of shells and crossflow, by NTU ratios",
         "pychemengg user guide, heat exchangers, Example 3; Fakheri (2003)",
         "published documentation seen; recomputed with an independent library",
         {"mean difference": Expected(157.5, "K", rel=0.005),
          "F 1-2": Expected(0.5754, "-", rel=0.005), "F 2-4": Expected(0.9272, "-", rel=0.005),
          "area 2-4": Expected(49.3, "m2", rel=0.005),
          "area crossflow": Expected(53.7, "m2", rel=0.005)}, _correction_factors),
    Case("HX-20", "air to water, crossflow, both unmixed",
         "Som, Introduction to Heat Transfer, ch. 10, Example 7", "published companion seen",
         {"NTU": Expected(5.446, "-", rel=0.001), "eff": Expected(0.9486, "-", rel=0.001),
          "air out": Expected(25.4, "degC", rel=0.001),
          "air out, book": Expected(26.0, "degC", abs=1.0)}, _air_water),
    Case("HX-21", "engine loop to tank loop, end to end", "closed form", _HAND,
         {"NTU": Expected(0.9569, "-", rel=5e-4), "eff": Expected(0.50157, "-", rel=5e-4),
          "q": Expected(188.69e3, "W", rel=5e-4), "coolant out": Expected(68.04, "degC", rel=5e-4),
          "tank water back": Expected(65.09, "degC", rel=5e-4)}, _end_to_end),
)
