"""Published cases of single-phase films and plate correlations."""

from __future__ import annotations

import math
from collections.abc import Mapping

from thermo import films
from thermo.published.case import Case, Expected
from thermo.wall import overall, wall_resistance


def _petukhov_water() -> Mapping[str, float]:
    friction = films.petukhov_friction(5e4)
    return {"f": friction, "Nu": films.gnielinski(5e4, 4.0, friction),
            "Nu, any Re": films.nusselt_duct(5e4, 4.0)}


def _martin(re: float, degrees: float) -> float:
    angle = math.radians(degrees)
    return float(films.martin_nusselt(re, 5.0, angle, films.martin_friction(re, angle)))


_RECOMPUTED = "documentation of the ht and fluids libraries; recomputed by hand"

CASES: tuple[Case, ...] = (
    Case("CNV-02", "Gnielinski with a given friction factor", "Gnielinski (1976)", _RECOMPUTED,
         {"Nu": Expected(254.627, "-", rel=1e-4)},
         lambda: {"Nu": films.gnielinski(1e5, 1.2, 0.0185)}),
    Case("CNV-03", "Gnielinski with Petukhov's smooth friction, water",
         "Incropera et al., eq. 8.21 and 8.62", "recomputed by hand",
         {"f": Expected(0.020958, "-", rel=2e-4), "Nu": Expected(258.29, "-", rel=2e-4),
          "Nu, any Re": Expected(258.29, "-", rel=2e-4)}, _petukhov_water),
    Case("CNV-08", "developed laminar flow in a round tube, constant wall temperature",
         "Shah & London (1978)", "library tests; closed form",
         {"Nu": Expected(3.6568, "-", rel=1e-3)}, lambda: {"Nu": films.nusselt_duct(1000.0, 4.0)}),
    Case("CNV-09", "developed laminar flow in a rectangular duct, constant wall temperature",
         "Shah & London (1978)", "from memory; recomputed with the polynomial",
         {f"Nu at side ratio {ratio:g}": Expected(nu, "-", rel=2e-3)
          for ratio, nu in ((1.0, 2.976), (0.5, 3.391), (0.25, 4.439), (0.125, 5.597))},
         lambda: {f"Nu at side ratio {ratio:g}": films.rectangular_laminar_nu(ratio)
                  for ratio in (1.0, 0.5, 0.25, 0.125)}),
    Case("CNV-12", "chevron plates, Nu at Re 2000 and Pr 5, friction at Re 20000",
         "Martin (1996); VDI Heat Atlas 2e", _RECOMPUTED,
         {"Nu at 30 deg": Expected(42.72, "-", rel=2e-4),
          "Nu at 45 deg": Expected(58.58, "-", rel=2e-4),
          "Nu at 60 deg": Expected(75.20, "-", rel=2e-4),
          "f at 45 deg": Expected(0.78159, "-", rel=2e-4)},
         lambda: {"Nu at 30 deg": _martin(2000.0, 30.0), "Nu at 45 deg": _martin(2000.0, 45.0),
                  "Nu at 60 deg": _martin(2000.0, 60.0),
                  "f at 45 deg": films.martin_friction(20000.0, math.radians(45.0))}),
    Case("CNV-15", "hard plate (60 deg from the flow) over soft plate (30 deg), Re 2000, Pr 5",
         "comparison of three correlations: Martin 75.2 over 42.7", "recomputed with a library",
         {"Nu ratio": Expected(75.2 / 42.7, "-", rel=2e-3)},
         lambda: {"Nu ratio": _martin(2000.0, 60.0) / _martin(2000.0, 30.0)}),
    Case("CNV-16", "overall coefficient of a plate wall", "series resistances",
         "recomputed by hand", {"U": Expected(1970.4, "W/m2 K", rel=5e-4)},
         lambda: {"U": overall(4000.0, 5000.0, wall_resistance(0.6e-3, 16.0) + 2e-5)}),
)
