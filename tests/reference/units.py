"""Writes units.csv: what each unit is in coherent SI, from programs that are not this one.

The factors come from pint, which is made to calculate with fractions, so that they are exact (π with
50 digits). Where scipy.constants knows the unit too, both must agree to 1e-15 relative. Printed with
40 digits by mpmath where the decimal does not end.

    pip install pint scipy mpmath
    python units.py > units.csv
"""

import re
from fractions import Fraction

import mpmath
import pint
import scipy
import scipy.constants

mpmath.mp.dps = 45
registry = pint.UnitRegistry(non_int_type=Fraction)

UNITS = """
m g s A K rad N Pa J W C V Ω F Wb T H Hz °C min h d ° ′ ″ gon L t bar atm kn r r/min 
% ‰ ppm in ft yd mile mile/h gal lb oz g_n kgf lbf ozf slug psi hp hp_M hp_E cal_IT 
cal_th °R °F Btu Btu_th mm cm km µm mm/r m/r mm/rad in/r mm² cm² m² in² ft² m³ 
cm³ mm³ in³ ft³ ms µs m/s mm/s m/min km/h ft/s in/s ft/min m/s² mm/s² ft/s² in/s² 
m/s³ mm/s³ ft/s³ in/s³ mrad rad/s r/s °/s rad/s² r/s² (r/min)/s °/s² rad/s³ r/s³ 
°/s³ 1/s 1/min 1/h 1/d kHz MHz kg kg/m³ g/cm³ kg/dm³ lb/ft³ lb/in³ kg/m g/m lb/ft 
kg·m² kg·cm² g·cm² lb·ft² lb·in² oz·in² lbf·in·s² ozf·in·s² lbf·ft·s² 
kgf·m·s² N·m·s kN MN N/m N/mm lbf/in lbf/ft MPa kPa N/mm² N·m kN·m mN·m N·cm 
lbf·ft lbf·in ozf·in kgf·m kgf·cm N·m/rad kN·m/rad N·m/° lbf·in/rad lbf·ft/rad 
N·m·s/rad N·m/(r/min) lbf·in·s/rad lbf·ft/(r/min) N·m·s²/rad² N·m/(r/min)² 
lbf·ft/(r/min)² N·s/m N/(m/s) lbf·s/in kJ MJ W·s W·h kW·h ft·lbf in·lbf kW MW 
ft·lbf/s Btu/h N·m/s kN·m/s lbf·ft/s J/mm² J/cm² J/m² W/mm² W/cm² W/m² kW/m² 
hp/in² mm³/J mm³/MJ cm³/MJ cm³/(kW·h) in³/(hp·h) m³/s m³/h L/min L/s ft³/min K/s 
K/min K/h 1/K %/K ppm/K J/K kJ/K W·s/K J/(kg·K) kJ/(kg·K) Btu/(lb·°R) K/W K/kW W/K 
kW/K W/(m·K) W/(m²·K) W/(cm²·K) Btu/(h·ft²·°R) mV kV mA kA mΩ kΩ µF mF nF mH 
µH A·s A·h mA·h A²·s N·m/A lbf·in/A ozf·in/A V/(r/min) mV/(r/min) V/(rad/s) 
V·s/rad
N·cm kgf·cm lb·ft oz·in slug·ft² lb·in·s² oz·in·s² lb·ft·s² kgf·cm·s² hp·h W·s/K N·m/rpm
"""

# where pint calls a unit otherwise, or gives the symbol another meaning
NAMES = {
    "g": "gram", "s": "second", "C": "coulomb", "F": "farad", "T": "tesla", "H": "henry",
    "°C": "delta_degC", "°F": "delta_degF", "°R": "degR", "min": "minute", "h": "hour", "d": "day",
    "°": "degree", "′": "arcminute", "″": "arcsecond", "gon": "grade", "L": "liter", "t": "metric_ton",
    "kn": "knot", "r": "revolution", "%": "percent", "‰": "permille", "in": "inch", "ft": "foot",
    "yd": "yard", "gal": "US_liquid_gallon", "lb": "pound", "oz": "ounce", "g_n": "standard_gravity",
    "kgf": "kilogram_force", "lbf": "force_pound", "ozf": "force_ounce", "hp": "horsepower",
    "hp_M": "metric_horsepower", "hp_E": "electrical_horsepower", "cal_IT": "international_calorie",
    "cal_th": "calorie", "Btu": "Btu_it", "Ω": "ohm", "mΩ": "milliohm", "kΩ": "kiloohm",
}
POWERS = {"²": "**2", "³": "**3", "⁻¹": "**-1"}

# in these the pound and the ounce are forces, as the trade has it
FORCE_POUNDS = {"lb·ft", "oz·in", "lb·in·s²", "oz·in·s²", "lb·ft·s²"}

# what scipy.constants knows, in its own floats
SCIPY = {
    "in": "inch", "ft": "foot", "yd": "yard", "mile": "mile", "mile/h": "mph", "kn": "knot", "psi": "psi",
    "bar": "bar", "atm": "atm", "hp": "hp", "kgf": "kgf", "lbf": "lbf", "Btu": "Btu_IT", "Btu_th": "Btu_th",
    "cal_IT": "calorie_IT", "cal_th": "calorie_th", "°": "degree", "′": "arcminute", "″": "arcsecond",
    "L": "liter", "gal": "gallon_US", "h": "hour", "d": "day", "min": "minute", "lb": "lb", "oz": "oz",
    "slug": "slug", "t": "metric_ton", "°F": "degree_Fahrenheit", "g_n": "g",
}

# GD² is held as the inertia GD²/4; a weight in newtons is divided by g_n
GYRATION = {
    "kgf·m²": Fraction(1, 4),
    "kg·m²": Fraction(1, 4),
    "kgf·cm²": Fraction(1, 4) / 10**4,
    "N·m²": 1 / (4 * Fraction("9.80665")),
}


def by_pint(unit):
    text = unit
    if unit in FORCE_POUNDS:
        text = text.replace("lb", "lbf").replace("oz", "ozf")
    for sign, power in POWERS.items():
        text = text.replace(sign, power)
    atoms = re.split(r"([·*/()]|\*\*-?\d)", text)
    total = "".join("*" if it == "·" else NAMES.get(it, it) for it in atoms)
    return Fraction(
        registry.Quantity(Fraction(1), total).to_base_units().magnitude
    )


def ends(value):
    below = value.denominator
    for prime in (2, 5):
        while below % prime == 0:
            below //= prime
    return below == 1


def printed(unit, value):
    turns = re.search(r"rad|r/|^r$|°(?![CFR])|′|″|gon|rpm|/r", unit) and value.denominator > 10**30
    if ends(value) and not turns:
        digits = 0
        while value.denominator != 1:
            value *= 10
            digits += 1
        text = str(value.numerator).rjust(digits + 1, "0")
        return (text[:-digits] + "." + text[-digits:] if digits else text), "ends"
    return mpmath.nstr(mpmath.mpf(value.numerator) / value.denominator, 40), "goes on"


print(f"# pint {pint.__version__}, scipy {scipy.__version__}, mpmath {mpmath.__version__}")
print("unit,kind,value in coherent SI,decimal,origin")
for unit in UNITS.split():
    value = by_pint(unit)
    origin = "pint"
    if unit in SCIPY:
        other = getattr(scipy.constants, SCIPY[unit])
        assert abs(float(value) - other) <= 1e-15 * other, unit
        origin = "pint and scipy"
    print(",".join([unit, "", *printed(unit, value), origin]))
for unit, value in GYRATION.items():
    print(",".join([unit, "flywheel effect", *printed(unit, value), "fractions"]))
for unit, point in [("°C", scipy.constants.zero_Celsius), ("°F", scipy.constants.convert_temperature(0, "F", "K"))]:
    print(",".join([unit, "zero of the scale in K", f"{point:.17g}", "goes on", "scipy"]))
