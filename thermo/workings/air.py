"""Working of the day's air: pressure, humidity, density, power correction."""

from __future__ import annotations

from thermo import moist_air as moist
from thermo import site
from thermo.properties import load_tables
from thermo.site_air import DEFAULT_HUMIDITY
from thermo.workings.bench import Bench
from thermo.workings.form import READ, Step, Symbol, Working, by_hand, celsius, of, pure, read, step

ISO = "ISO 2533:1975, standard atmosphere"
CIPM = "Picard et al. (2008), CIPM-2007"
VAPOUR_TABLE = "table of the vapour pressure of water, fitted to CoolProp's IAPWS-95"
IDEAL = "ideal mixture of dry air and vapour"


def temperature(b: Bench) -> Symbol:
    """Return the air's temperature [K]."""
    return of("T", b.air.temperature, "temperature", "air temperature")


def pressure(b: Bench) -> Symbol:
    """Return the station pressure [Pa]."""
    return of("p", b.air.pressure, "pressure_absolute", "station pressure")


def pressure_steps(b: Bench) -> list[Step]:
    """Return how the station pressure comes about."""
    given = b.scenario.site
    found = pressure(b)
    if given.pressure is not None:
        return [read("station pressure", found, f"site.pressure, {READ}")]
    z = of("z", b.air.elevation, "length", "elevation, geopotential")
    p0 = of("p0", site.STANDARD_PRESSURE, "pressure_absolute", "standard pressure at sea level")
    t0 = of("T0", site.STANDARD_TEMPERATURE, "temperature", "standard temperature at sea level")
    lapse = pure("L", site.LAPSE, "lapse rate of the standard atmosphere", "K/m")
    n = pure("n", site.EXPONENT, "exponent of pressure on temperature")
    exponent = step(
        "exponent of the standard atmosphere",
        "n = g/(R0*L)",
        [
            pure("g", site.GRAVITY, "acceleration of gravity", "m/s2"),
            pure("R0", site.R_STANDARD, "gas constant of the standard atmosphere", "J/(kg K)"),
            lapse,
        ],
        n,
        ISO,
    )
    if given.altimeter is not None:
        reported = of("A", given.altimeter, "pressure_absolute", "altimeter setting")
        return [
            exponent,
            step(
                "station pressure from the altimeter setting",
                "p = p0*((A/p0)^(1/n) - L*z/T0)^n",
                [p0, reported, n, lapse, z, t0],
                found,
                f"definition of the altimeter setting with the {ISO}",
                "-500 to 5000 m",
            ),
        ]
    return [
        exponent,
        step(
            "pressure of the standard atmosphere at the elevation",
            "p = p0*(1 - L*z/T0)^n",
            [p0, lapse, z, t0, n],
            found,
            ISO,
            "-500 to 5000 m",
            "No pressure is given: a real day differs by up to 2 %.",
        ),
    ]


def vapour_steps(b: Bench) -> list[Step]:
    """Return vapour pressure, relative humidity and the rest, from what is given."""
    given, air = b.scenario.site, b.air
    saturated = of(
        "e_s",
        moist.saturation_vapour_pressure(air.temperature),
        "pressure_absolute",
        "vapour pressure of saturation over water",
    )
    look = read(
        "vapour pressure of saturation", saturated, VAPOUR_TABLE, [temperature(b)],
        "238 to 473 K",
    )
    e = of("e", air.vapour_pressure, "pressure_absolute", "vapour pressure")
    phi = pure("phi", air.relative_humidity, "relative humidity")
    if given.dew_point is not None:
        dew = of("T_d", given.dew_point, "temperature", "dew point")
        return [
            look,
            read("vapour pressure at the dew point", e, VAPOUR_TABLE, [dew], "238 to 473 K"),
            step("relative humidity", "phi = e/e_s", [e, saturated], phi, "definition"),
        ]
    note = (
        f"{DEFAULT_HUMIDITY:g} taken: common practice for a dry lake"
        if given.relative_humidity is None
        else ""
    )
    return [
        look,
        step("vapour pressure", "e = phi*e_s", [phi, saturated], e, "definition", note=note),
    ]


def density_steps(b: Bench) -> list[Step]:
    """Return the density of moist air by CIPM-2007."""
    air = b.air
    t, p, kelvin = celsius("t", air.temperature, "air temperature"), pressure(b), temperature(b)
    factor = moist.enhancement_factor(air.temperature, air.pressure)
    f = pure("f", factor, "enhancement factor")
    e = of("e", air.vapour_pressure, "pressure_absolute", "vapour pressure")
    share = air.vapour_pressure * factor / air.pressure
    x = pure("x", share, "mole fraction of vapour")
    squeeze = moist.compressibility_factor(air.temperature, air.pressure, share)
    z = pure("Z", squeeze, "compressibility factor")
    rho = of("rho", air.density, "density", "density of the air")
    return [
        step(
            "factor by which air raises the vapour pressure",
            "f = 1.00062 + 3.14e-8*p + 5.6e-7*t^2",
            [p, t],
            f,
            f"{CIPM}, app. A1.2 (constants from memory)",
            "263 to 333 K, 60 to 110 kPa",
        ),
        step("mole fraction of vapour", "x = e*f/p", [e, f, p], x, "Dalton's law"),
        step(
            "compressibility factor",
            "Z = 1 - p/T*(1.58123e-6 - 2.9331e-8*t + 1.1043e-10*t^2 + (5.707e-6 - 2.051e-8*t)*x"
            " + (1.9898e-4 - 2.376e-6*t)*x^2) + (p/T)^2*(1.83e-11 - 0.765e-8*x^2)",
            [p, kelvin, t, x],
            z,
            f"{CIPM}, app. A1.4 (constants from memory)",
            "263 to 323 K",
        ),
        step(
            "density of moist air",
            "rho = p*Ma/(Z*R*T)*(1 - x*(1 - Mv/Ma))",
            [
                p,
                pure("Ma", moist.MOLAR_MASS_AIR, "molar mass of dry air", "kg/mol"),
                z,
                pure("R", moist.R_MOLAR, "molar gas constant", "J/(mol K)"),
                kelvin,
                x,
                pure("Mv", moist.MOLAR_MASS_VAPOUR, "molar mass of water", "kg/mol"),
            ],
            rho,
            f"{CIPM}, eq. 1",
            "263 to 323 K within 0.02 % of CoolProp's humid air",
        ),
    ]


def station_pressure(b: Bench) -> Working:
    """Working of the station pressure."""
    return Working("", "station pressure", tuple(pressure_steps(b)), pressure(b))


def air_temperature(b: Bench) -> Working:
    """Working of the air's temperature."""
    kelvin = temperature(b)
    found = celsius("t", kelvin.value, "air temperature")
    steps = (
        read("air temperature", kelvin, f"site.air_temperature, {READ}"),
        step("in degrees Celsius", "t = T - 273.15", [kelvin], found, "definition"),
    )
    return Working("", "air temperature", steps, found)


def relative_humidity(b: Bench) -> Working:
    """Working of the relative humidity."""
    phi = pure("phi", b.air.relative_humidity, "relative humidity")
    steps = vapour_steps(b)
    if b.scenario.site.dew_point is None:
        steps.append(
            step(
                "back again", "phi = e/e_s", [steps[1].result, steps[0].result], phi, "definition"
            )
        )
    return Working("", "relative humidity", tuple(steps), phi)


def density(b: Bench) -> Working:
    """Working of the air's density."""
    steps = (*pressure_steps(b), *vapour_steps(b), *density_steps(b))
    ideal = by_hand(
        "dry air as an ideal gas",
        "rho_hand = p/(287.05*T)",
        [pressure(b), temperature(b)],
        ("rho_hand", "density", "dry air"),
        "ideal gas law",
    )
    words = "Moist air is lighter than dry: vapour weighs 18 g/mol where air weighs 29."
    return Working("", "air density", steps, steps[-1].result, (ideal,), words)


def density_altitude(b: Bench) -> Working:
    """Working of the density altitude."""
    rho = of("rho", b.air.density, "density", "density of the air")
    height = of("h", b.air.density_altitude, "length", "density altitude")
    last = step(
        "elevation of the standard atmosphere with that density",
        "h = T0/L*(1 - (rho/rho0)^(1/(n - 1)))",
        [
            of("T0", site.STANDARD_TEMPERATURE, "temperature", "standard sea-level temperature"),
            pure("L", site.LAPSE, "lapse rate", "K/m"),
            rho,
            of("rho0", site.STANDARD_DENSITY, "density", "standard sea-level density"),
            pure("n", site.EXPONENT, "exponent of pressure on temperature"),
        ],
        height,
        f"inversion of the {ISO}",
        "to 11 000 m",
    )
    steps = (*pressure_steps(b), *vapour_steps(b), *density_steps(b), last)
    return Working("", "density altitude", steps, height)


def gas_steps(b: Bench) -> list[Step]:
    """Return humidity ratio, gas constant, specific heat and their ratio."""
    air = b.air
    factor = moist.enhancement_factor(air.temperature, air.pressure)
    x = pure("x", air.vapour_pressure * factor / air.pressure, "mole fraction of vapour")
    w = pure("W", air.humidity_ratio, "vapour over dry air by mass")
    eps = pure("E", moist.EPSILON, "molar mass of water over that of air")
    table = load_tables().air
    r = of("R", air.gas_constant, "specific_heat", "gas constant of the air")
    cp = of("cp", air.cp, "specific_heat", "specific heat at constant pressure")
    gamma = pure("gamma", air.gamma, "ratio of specific heats")
    return [
        step(
            "humidity ratio",
            "W = E*x/(1 - x)",
            [eps, x],
            w,
            "ASHRAE Handbook, Fundamentals (2017), ch. 1, eq. 20",
        ),
        step(
            "gas constant",
            "R = Rm/(Ma*(1 - x) + Mv*x)",
            [
                pure("Rm", moist.R_MOLAR, "molar gas constant", "J/(mol K)"),
                pure("Ma", moist.MOLAR_MASS_AIR, "molar mass of dry air", "kg/mol"),
                x,
                pure("Mv", moist.MOLAR_MASS_VAPOUR, "molar mass of water", "kg/mol"),
            ],
            r,
            IDEAL,
        ),
        step(
            "specific heat",
            "cp = (ca + W*cv)/(1 + W)",
            [
                of("ca", table.specific_heat(air.temperature), "specific_heat",
                   "of dry air, table from CoolProp"),
                w,
                of("cv", table.vapour_specific_heat(air.temperature), "specific_heat",
                   "of vapour, table from CoolProp"),
            ],
            cp,
            IDEAL,
            "233 to 423 K",
        ),
        step("ratio of specific heats", "gamma = cp/(cp - R)", [cp, r], gamma, "definition"),
    ]


def speed_of_sound(b: Bench) -> Working:
    """Working of the speed of sound."""
    steps = gas_steps(b)
    r, gamma = steps[1].result, steps[3].result
    a = of("a", b.air.speed_of_sound, "speed", "speed of sound")
    last = step(
        "speed of sound", "a = sqrt(gamma*R*T)", [gamma, r, temperature(b)], a,
        "NACA Report 1135 (1953)", "an ideal gas",
    )
    return Working("", "speed of sound", (*vapour_steps(b), *steps, last), a)


def j1349_factor(b: Bench) -> Working:
    """Working of the SAE J1349 correction."""
    air = b.air
    e = of("e", air.vapour_pressure, "pressure_absolute", "vapour pressure")
    dry = of("p_d", air.dry_pressure, "pressure_absolute", "pressure of the dry air")
    found = pure("k", air.j1349_factor, "power at 99 kPa dry and 25 degC over power on the day")
    steps = (
        *pressure_steps(b),
        *vapour_steps(b),
        step("pressure of the dry air", "p_d = p - e", [pressure(b), e], dry, "Dalton's law"),
        step(
            "power correction",
            "k = 1.18*(99000/p_d)*sqrt((T - 0.15)/298) - 0.18",
            [dry, temperature(b)],
            found,
            "SAE J1349 (2004), 85 % mechanical efficiency",
            "15 to 35 degC, 90 to 105 kPa dry (from memory)",
            air.j1349_note,
        ),
    )
    cautions = (f"power correction: {air.j1349_note}",) if air.j1349_note else ()
    return Working("", "power correction", steps, found, cautions=cautions)


def j1349_note(b: Bench) -> Working:
    """Working of whether the standard allows its correction on such a day."""
    air = b.air
    found = pure("allowed", 1.0 if air.j1349_in_range else 0.0, "1: the standard allows it")
    dry = of("p_d", air.dry_pressure, "pressure_absolute", "pressure of the dry air")
    held = read(
        "day against the standard's range",
        found,
        "SAE J1349 (2004), from memory, medium confidence",
        [temperature(b), dry],
        "15 to 35 degC, 90 to 105 kPa dry",
        air.j1349_note or "both lie within",
    )
    return Working("", "range of the power correction", (*vapour_steps(b), held), found)


WORKINGS = {
    "site.station_pressure_Pa": station_pressure,
    "site.air_temperature_degC": air_temperature,
    "site.relative_humidity": relative_humidity,
    "site.density_kg_per_m3": density,
    "site.density_altitude_m": density_altitude,
    "site.speed_of_sound_m_per_s": speed_of_sound,
    "site.j1349_factor": j1349_factor,
    "site.j1349_note": j1349_note,
}
"""Workings of the day's air, by the name of the figure."""
