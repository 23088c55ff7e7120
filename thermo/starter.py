"""The commented scenario that ``soakbox new FILE`` writes."""

from __future__ import annotations

STARTER = """\
schema = 1
title = "My car, my course"
shows = "A starting point: replace each figure by your own, the least certain ones first."

# How to read this file
#   A quantity is text with its unit: "38 L", "10 gal", "180 degF", "15 psi", "3 mi".
#   A bare number has no unit: shares, coefficients, counts.
#   A line that begins with "#" and no space after it is an input you may switch on by taking
#   the "#" away. Lines that stand together belong together.
#   Figures marked (guess) are common practice. Measure them before you trust the verdict.

[site]
air_temperature = "30 degC"      # in the shade, -30 to 60 degC
elevation = "1200 m"             # of the course; gives the pressure when none is given
relative_humidity = 0.20         # 0 to 1
#pressure = "87.5 kPa"           # station pressure, as a barometer at the course reads it
#head_wind = "2 m/s"             # against the car; a tail wind is negative

[car]
mass = "620 kg"                  # at the start, with driver, fuel and all water
drag_area = "0.22 m^2"           # drag coefficient times frontal area, 0.1 to 0.6
rolling_resistance = 0.025       # dry lake 0.015 to 0.03, damp salt 0.03 to 0.06 (guess)
driven_mass = "370 kg"           # carried by the driven axle
grip = 0.5                       # salt 0.4 to 0.6 (guess)
driveline_efficiency = 0.88      # 0.85 to 0.93 (guess)
wheel_slip = 0.08                # 0.03 to 0.15 (guess)
length = "6 m"

[engine]
displacement = "1.6 L"
cylinders = 4
power = "100 kW"                 # brake power at full throttle, held over the pass
rated_speed = "7000 rpm"
heat_share = 0.80                # coolant heat over brake power, 0.60 to 1.05 (guess); size at
                                 # 0.95 until you have measured it
metal_excess = "35 K"            # metal over coolant at full power, 20 to 60 K (guess); it drives
                                 # what happens when the pumps stop
metal_mass = "40 kg"             # metal the coolant touches, 0.2 to 0.8 kg a kW (guess)
metal = "aluminium"              # or "iron"
oil_share = 0.07                 # heat into the oil over brake power, 0.04 to 0.12 (guess)
oil_mass = "4 kg"
power_basis = "site"             # "corrected" where the dyno sheet is corrected to SAE J1349
ram_to_power = true              # false keeps the power as given whatever the duct delivers
fuel = "petrol"                  # or "ethanol", "e85", "methanol"
fuel_metering = "mass-metered"   # or "referenced", "vented-bowl", "unreferenced-regulator"
#oil_cooler_ua = "150 W/K"       # an oil cooler in the coolant
#boost_ratio = 1.6               # absolute pressure ratio of a charger
#charge_cooler_heat = "8 kW"     # a charge cooler in the tank loop

[coolant]
volume = "6 L"                   # jacket and hot lines, 3 to 10 L
start_temperature = "80 degC"    # when the event begins
cap_pressure = "100 kPa"         # at which the cap opens, gauge, 50 to 150 kPa
flow = "100 L/min"               # 0.6 to 1.8 L/min a kW (guess)
flow_measured = false            # true once you have measured it in the car
#glycol = "ethylene"             # or "propylene"
#glycol_fraction = 0.30          # by volume, 0.10 to 0.60
#drive = "crank"                 # the pump follows engine speed and stops with the engine

#[coolant.thermostat]
#opens = "82 degC"
#full_open = "92 degC"
#bleed = 0.05                    # share of the flow that passes when it is shut

[exchanger]
arrangement = "counterflow"      # or "parallel", "shell-and-tube", "crossflow-unmixed", ...
ua = "2800 W/K"                  # conductance; 15 to 45 W/K a kW of brake power (guess)
                                 # instead of ua: [exchanger.rated], [exchanger.double_pipe] or
                                 # [exchanger.plate], from a maker's sheet or from its sizes

[tank]
volume = "55 L"
fill = 0.86                      # share filled with water when the lid is shut, 0.80 to 0.93
start_temperature = "25 degC"    # of its water
closure = "sealed-relief"        # or "sealed", "overflow-bottle", "vented", "bladder"
relief_pressure = "50 kPa"       # gauge; a flat-sided tank bears 20 to 70 kPa
relief_bore = "22 mm"            # of the relief's seat
length = "0.55 m"                # along the car
height = "0.32 m"
wall_thickness = "3 mm"
panel_long = "150 mm"            # largest panel between stays or baffles
panel_short = "120 mm"
barrier = "bulkhead"             # "none" if nothing sealed stands between tank and driver
outlet = "rear"                  # where the pick-up sits; water runs there under acceleration
#mixing = "plug"                 # only with baffles; the margin is shown for each kind unless set
# against frost, without ice:
#glycol = "propylene"
#glycol_fraction = 0.30
# against heat, without glycol; water ice, never dry ice:
#ice_mass = "8 kg"               # at the start, within fill
#ice_form = "cubes"              # or "block", "crushed"
#strainer = true                 # ice wants one over the pick-up

[loop]
flow = "45 L/min"                # installed, 20 to 80 L/min (guess); half the catalogue's is usual
flow_measured = false            # true once measured with bucket and watch
                                 # instead of flow: the pump's curve in [loop.pump], with the lines
#voltage = "12.0 V"              # at the pumps, under way

[loop.supply]                    # tank to exchanger
length = "4 m"
bore = "25 mm"
fittings = ["entrance", "elbow-90", "elbow-90"]
barrier = "sleeve"               # "none", "sleeve" that drains overboard, or "outside"

[loop.return]                    # exchanger to tank
length = "4 m"
bore = "25 mm"
fittings = ["elbow-90", "elbow-90", "exit"]
barrier = "sleeve"

[intake]                         # take the whole table away where there is no duct
recovery = 0.97                  # share of the stagnation gain that the opening catches (guess)
lip = "rounded"                  # or "sharp", "re-entrant", "bellmouth"
copies = 1                       # equal ducts side by side
#wall_temperature = "55 degC"    # a duct that stood in the sun

[[intake.part]]                  # parts in order from the nose
kind = "tube"                    # or "box-tube", "flexible"
name = "nose tube"
bore = "75 mm"
length = "3 m"
roughness = "45 um"              # drawn tube 1.5 um, steel tube 45 um, rusty 150 um

[[intake.part]]
kind = "bend"                    # or "mitre", "contraction", "expansion", "box-to-round", "wye"
name = "to the engine"
bore = "75 mm"
angle = "90 deg"
radius_ratio = 1.5               # bend radius over bore

[[intake.part]]
kind = "filter"                  # or "screen", "loss"
drop = "300 Pa"                  # clean, 200 to 1000 Pa
#rated_flow = "0.1 kg/s"         # the flow at which that drop holds

[limits]                         # what counts as enough
caution_margin = "10 K"          # boil margin that sizes keep
hot_spot_allowance = "10 K"      # hottest coolant in the head over coolant at engine out (guess)

[[leg]]                          # legs in the order in which they happen
kind = "queue"                   # engine off, sun on the tank
duration = "5 min"

[[leg]]
kind = "full-power"
name = "pass"
distance = "4.8 km"
start_speed = "12 m/s"           # push-off
#timed_from = "3.2 km"           # the timed stretch, from the start of this leg
#timed_to = "4.8 km"

[[leg]]
kind = "coast"
duration = "45 s"                # both pumps stay on unless told otherwise
#engine = "idle"                 # turns a pump on the crank
#parachute_area = "0.8 m^2"

[[leg]]
kind = "soak"                    # engine and pumps off
duration = "5 min"

# A second pass within the hour: swap water, then run again.
#[[leg]]
#kind = "service"
#name = "swap"
#duration = "20 min"
#swap_fraction = 0.8
#swap_temperature = "25 degC"
#[[leg]]
#kind = "full-power"
#name = "return pass"
#distance = "4.8 km"
#start_speed = "12 m/s"
#[[leg]]
#kind = "coast"
#name = "coast after the return"
#duration = "45 s"

# How sure you are of what, for "soakbox doubt": the chance that each limit is crossed. Guesses
# have ranges of their own; give one here for any quantity, by its key, and tell what was measured.
#[doubt."engine.heat_share"]
#shape = "exact"                 # measured: no range
#[doubt."exchanger.ua"]
#low = "2000 W/K"                # triangular unless said: likeliest at the figure above
#high = "3600 W/K"
#[doubt."site.air_temperature"]
#low = "28 degC"
#high = "34 degC"
#shape = "normal"                # low and high are the 5th and 95th percentiles; or "uniform"
"""
"""Text of the starter scenario: every table with its most-needed keys, works as it stands."""
