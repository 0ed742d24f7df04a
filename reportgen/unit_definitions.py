"""The units that people write here, in the language of pint: what `units.ALIASES` names, and what those are made of.

Pint's own thousand take a quarter of a second to load; any other unit is looked up there. `tests/test_units.py` holds
each of these against the one of the same name there.
"""

#: The international system and its neighbours (BIPM, SI brochure, 9th edition, table 8), from memory.
_METRIC = """
milli- = 1e-3 = m-
centi- = 1e-2 = c-
deci- = 1e-1 = d-
hecto- = 1e2 = h-
kilo- = 1e3 = k-
meter = [length] = m
second = [time] = s
gram = [mass] = g
kelvin = [temperature]; offset: 0 = K
degree_Celsius = kelvin; offset: 273.15 = °C = degC
degree_Fahrenheit = 5 / 9 * kelvin; offset: 233.15 + 200 / 9 = °F = degF
percent = 0.01 = %
ppm = 1e-6
minute = 60 * second = min
hour = 60 * minute = h
day = 24 * hour = d
liter = decimeter ** 3 = L
newton = kilogram * meter / second ** 2 = N
joule = newton * meter = J
watt = joule / second = W
pascal = newton / meter ** 2 = Pa
bar = 1e5 * pascal
"""
#: Pressures by convention (from memory): standard atmosphere and gravity, columns of water (1000 kg/m^3) and mercury.
_PRESSURES = """
standard_gravity = 9.80665 * meter / second ** 2 = g_0
standard_atmosphere = 1.01325e5 * pascal = atm = atmosphere
torr = atm / 760
water_density = 1000 * kilogram / meter ** 3
mercury_density = 13595.1 * kilogram / meter ** 3
meter_H2O = meter * water_density * g_0 = mH2O
inch_H2O = inch * water_density * g_0 = inH2O
meter_Hg = meter * mercury_density * g_0 = mHg
force_pound = g_0 * pound = lbf
pound_force_per_square_inch = force_pound / inch ** 2 = psi
"""
#: The international yard and pound, exact since 1959, and the United States gallon (from memory).
_CUSTOMARY = """
yard = 0.9144 * meter = yd
inch = yard / 36 = in
foot = yard / 3 = ft
gallon = 231 * inch ** 3 = gal
grain = 64.79891 * milligram = gr
pound = 7e3 * grain = lb
ounce = pound / 16 = oz
"""
DEFINITIONS = (_METRIC + _PRESSURES + _CUSTOMARY).strip().splitlines()
