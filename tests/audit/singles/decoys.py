# ruff: noqa: E501
"""Single questions that no shipped family solves, though units and many words are theirs.

Each has its right answer, computed here from the formula beside it (laws of any textbook), so that
a key with these digits must never be accused. Numbers and stories are invented.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

G = 9.81


@dataclass(frozen=True)
class Decoy:
    """A question, its right answer and the unit of that."""

    text: str
    answer: float
    unit: str


def _rad(degrees: float) -> float:
    return math.radians(degrees)


OTHER_LAWS = (
    Decoy("A block with a mass of 12.0 kg slides down a smooth slope with an angle of 25.0° over a"
          " distance of 3.00 m, starting from rest. What is its speed at the end?",
          math.sqrt(2 * G * 3.0 * math.sin(_rad(25))), "m/s"),
    Decoy("A wagon with a mass of 850 kg is pushed with a force of 640 N against a rolling friction"
          " of a tenth of that force. What is the acceleration of the wagon?",
          0.9 * 640 / 850, "m/s²"),
    Decoy("A wagon with a mass of 850 kg is pulled up a slope by a force of 6400 N and moves at"
          " constant speed. By how much is its potential energy raised in each metre?", 6400.0, "J"),
    Decoy("A net force of 45.0 N acts on a disc with a mass of 6.00 kg at its rim. The disc turns"
          " about its axis. What is the acceleration of its rim?", 2 * 45.0 / 6.0, "m/s²"),
    Decoy("Two carts with masses of 250 g and 400 g move at 0.80 m/s and -0.30 m/s and stick"
          " together when they collide. What is their velocity after the collision?",
          (0.25 * 0.8 - 0.4 * 0.3) / 0.65, "m/s"),
    Decoy("Two gliders on an air track have masses of 250 g and 400 g and velocities of 0.80 m/s and"
          " -0.30 m/s. The coefficient of restitution is a half. What is the velocity of the left"
          " glider after the collision?",
          (0.25 * 0.8 - 0.4 * 0.3 + 0.4 * 0.5 * (-0.3 - 0.8)) / 0.65, "m/s"),
    Decoy("A car moving at 28.0 m/s brakes with a constant deceleration of 4.50 m/s² for 3.00 s."
          " What distance does it cover in this time?", 28 * 3 - 0.5 * 4.5 * 9, "m"),
    Decoy("A car moving at 28.0 m/s brakes with a constant deceleration of 4.50 m/s² for 3.00 s."
          " What is its speed at the end?", 28 - 4.5 * 3, "m/s"),
    Decoy("A driver at 28.0 m/s reacts for 1.20 s before the brakes give a deceleration of"
          " 6.00 m/s². What distance does the car cover until it stops?",
          28 * 1.2 + 28**2 / 12, "m"),
    Decoy("A sledge at 6.00 m/s on ice comes to rest after 4.00 s. What distance does it cover?",
          12.0, "m"),
    Decoy("A ball is thrown straight up with 14.0 m/s from a roof 18.0 m above the ground. What is"
          " its speed at the ground?", math.sqrt(14**2 + 2 * G * 18), "m/s"),
    Decoy("A ball is thrown straight down with 6.00 m/s from a bridge 21.0 m above the water. What"
          " is the time of fall?", (-6 + math.sqrt(36 + 2 * G * 21)) / G, "s"),
    Decoy("A ball rolls off the edge of a table with a horizontal speed of 2.40 m/s on the Moon and"
          " drops 0.90 m to the floor. What is the time of fall?", math.sqrt(1.8 / 1.62), "s"),
    Decoy("A ball leaves a ramp with a horizontal speed of 3.10 m/s; the drop to the floor is 1.20 m."
          " At what angle below the horizontal does it hit the floor?",
          math.degrees(math.atan(math.sqrt(2 * G * 1.2) / 3.1)), "°"),
    Decoy("A projectile is launched at 22.0 m/s and 40.0° above the horizontal from level ground and"
          " hits a wall that is 30.0 m away. How high above the ground does it hit?",
          30 * math.tan(_rad(40)) - G * 900 / (2 * (22 * math.cos(_rad(40))) ** 2), "m"),
    Decoy("A stone is thrown at 15.0 m/s and 35.0° below the horizontal from a cliff 40.0 m above"
          " the water. What is the time of flight?",
          (-15 * math.sin(_rad(35)) + math.sqrt((15 * math.sin(_rad(35))) ** 2 + 80 * G)) / G, "s"),
    Decoy("A lift car with a mass of 900 kg is pulled up with an acceleration of 1.20 m/s² through a"
          " height of 12.0 m. How much work does the cable do?",
          900 * (G + 1.2) * 12 / 1000, "kJ"),
    Decoy("A lift car with a mass of 900 kg is let down by 12.0 m at constant speed. The friction"
          " force in the guide rails is 250 N. How much work does the cable do?",
          -(900 * G - 250) * 12 / 1000, "kJ"),
    Decoy("A lift car with a mass of 900 kg and a counterweight half as heavy hang on one cable. The"
          " friction force is 250 N. How much work does the motor do when it raises the car by"
          " 12.0 m?", (450 * G + 250) * 12 / 1000, "kJ"),
    Decoy("A load with a mass of 3.00 kg hangs at rest on a spring with a spring constant of 450 N/m."
          " It is then pulled down by 0.050 m and let go. What is the greatest speed of the load?",
          0.05 * math.sqrt(450 / 3), "m/s"),
    Decoy("A load with a mass of 3.00 kg is pushed by hand 0.12 m down on an upright spring with a"
          " spring constant of 4.50 kN/m and let go. How high does the load rise above this point?",
          4500 * 0.12**2 / (2 * 3 * G), "m"),
    Decoy("A load with a mass of 3.00 kg slides at a speed of 2.00 m/s into a horizontal spring with"
          " a spring constant of 4.50 kN/m. What is the greatest compression of the spring?",
          2 * math.sqrt(3 / 4500) * 100, "cm"),
    Decoy("A crate with a mass of 25.0 kg is pushed with 180 N at an angle of 20.0° downwards against"
          " the floor. The coefficient of static friction is 0.45, the coefficient of kinetic"
          " friction is 0.30. What is the acceleration of the crate?",
          (180 * math.cos(_rad(20)) - 0.3 * (25 * G + 180 * math.sin(_rad(20)))) / 25, "m/s²"),
    Decoy("A crate with a mass of 25.0 kg is pulled with 180 N along a ramp with an angle of 20.0°."
          " The coefficient of static friction is 0.30, the coefficient of kinetic friction is 0.20."
          " What is the acceleration of the crate?",
          180 / 25 - G * math.sin(_rad(20)) - 0.2 * G * math.cos(_rad(20)), "m/s²"),
    Decoy("A sledge of 30.0 kg stands on a smooth slope with an angle of 25.0° and is tied by a cord"
          " over a light pulley to a hanging counterweight of 20.0 kg. What is the acceleration of"
          " the sledge?", G * (20 - 30 * math.sin(_rad(25))) / 50, "m/s²"),
    Decoy("A diver with a mass of 80.0 kg falls through water with a density of 1000 kg/m³. The drag"
          " coefficient is 0.90, the area is 0.60 m² and the buoyancy is half of the weight. What"
          " is the terminal speed?", math.sqrt(80 * G / (1000 * 0.9 * 0.6)), "m/s"),
    Decoy("A car has a drag coefficient of 0.32 and a frontal area of 2.10 m². The density of the air"
          " is 1.20 kg/m³, the mass of the car 1350 kg and its speed 30.0 m/s. What is the drag?",
          0.5 * 1.2 * 0.32 * 2.1 * 900, "N"),
    Decoy("A string with a mass per length of 4.50 g/m and a length of 0.65 m is under a tension of"
          " 72.0 N and is fixed at both ends. What is the frequency of its fundamental?",
          math.sqrt(72 / 0.0045) / 1.3, "Hz"),
    Decoy("A string with a mass per length of 4.50 g/m carries a wave with a wavelength of 0.65 m and"
          " a frequency of 120 Hz. What is the tension?", 0.0045 * (0.65 * 120) ** 2, "N"),
    Decoy("A wave with an amplitude of 2.00 cm runs along a string with a mass per length of"
          " 4.50 g/m under a tension of 72.0 N. Its wavelength is 0.65 m. What is the greatest speed"
          " of a point of the string?",
          0.02 * 2 * math.pi / 0.65 * math.sqrt(72 / 0.0045), "m/s"),
    Decoy("Two strings with lengths of 0.650 m and 0.655 m have the same mass per length, 4.50 g/m,"
          " and the same tension, 72.0 N. What is the frequency of the beats of their fundamentals?",
          math.sqrt(72 / 0.0045) * (1 / 1.3 - 1 / 1.31), "Hz"),
    Decoy("A gas at a pressure of 2.40e5 Pa in a cylinder with a diameter of 8.00 cm and a length of"
          " 12.0 cm is compressed at constant temperature to half of its volume. How much work is"
          " done on the gas?",
          2.4e5 * math.pi * 0.0016 * 0.12 * math.log(2), "J"),
    Decoy("A piece of metal with a mass of 0.40 kg is heated from 20.0 °C to 180 °C. Its specific"
          " heat is 450 J/(kg K). By how much does its entropy change?",
          0.4 * 450 * math.log(453.15 / 293.15), "J/K"),
    Decoy("A piece of metal with a mass of 0.40 kg, a specific heat of 450 J/(kg K) and a temperature"
          " of 180 °C is dropped into 0.80 kg of oil at 25.0 °C with a specific heat of"
          " 1900 J/(kg K). What is the final temperature?",
          (0.4 * 450 * 180 + 0.8 * 1900 * 25) / (0.4 * 450 + 0.8 * 1900), "°C"),
    Decoy("Hot water with a mass of 0.40 kg and a temperature of 80.0 °C is poured into 0.90 kg of"
          " water at 15.0 °C. What is the final temperature?", (0.4 * 80 + 0.9 * 15) / 1.3, "°C"),
    Decoy("A glass can of 0.25 kg holds 0.80 kg of water; both are at 60.0 °C. Ice with a mass of"
          " 0.10 kg and a temperature of -5.0 °C is added. Glass has a specific heat of"
          " 840 J/(kg K). What is the final temperature?",
          ((0.25 * 840 + 0.8 * 4186) * 60 - 0.1 * (2090 * 5 + 334e3))
          / (0.25 * 840 + 0.9 * 4186), "°C"),
    Decoy("A refrigerator that works as an ideal heat engine in reverse has a cold side at 260 K. It"
          " takes 300 J of work in each cycle and its coefficient of performance is 4.00. What heat"
          " does it give off in each cycle?", 1500.0, "J"),
    Decoy("An ideal heat engine works between a hot side at 560 K and a cold side at 300 K and does"
          " 240 J of work in each cycle. What heat does it take up in each cycle?",
          240 / (1 - 300 / 560), "J"),
    Decoy("Two rods side by side, each 25.0 cm long with a diameter of 1.00 cm, join a hot end at"
          " 100 °C to a cold end at 20.0 °C. The conductivity of the first rod is 80.0 W/(m K), that"
          " of the second 220 W/(m K). What is the heat flow?",
          300 * math.pi * 0.005**2 * 80 / 0.25, "W"),
    Decoy("The volume expansion of mercury is 1.80e-4 1/K. A glass flask with a volume of 250 cm³ and"
          " a volume expansion of 2.70e-5 1/K is full at first. How much mercury flows out when the"
          " temperature rises by 40.0 K?", 250 * (1.8e-4 - 2.7e-5) * 40, "cm³"),
    Decoy("A coil has a resistance of 50.0 Ω at 20.0 °C. Its temperature coefficient is 3.90e-3 1/K."
          " What is its resistance at 85.0 °C?", 50 * (1 + 3.9e-3 * 65), "Ω"),
    Decoy("A capacitor of 220 µF is charged through a resistance of 47.0 kΩ by a source of 12.0 V."
          " After what time has the voltage reached 9.00 V?", 220e-6 * 47e3 * math.log(4), "s"),
    Decoy("A coil with an inductance of 30.0 mH, a capacitor of 80.0 µF and a resistor of 12.0 Ω are"
          " in series with a source that has an amplitude of 10.0 V and a frequency of 50.0 Hz. What"
          " is the amplitude of the current?",
          10 / math.hypot(12, 2 * math.pi * 50 * 0.03 - 1 / (2 * math.pi * 50 * 80e-6)), "A"),
    Decoy("A coil with an inductance of 30.0 mH, a capacitor of 80.0 µF and a resistor of 12.0 Ω are"
          " in parallel to a source with an amplitude of 10.0 V. What is the amplitude of the"
          " current at resonance?", 10 / 12, "A"),
    Decoy("A coil with an inductance of 30.0 mH, a capacitor of 80.0 µF and a resistor of 120 Ω are"
          " in parallel to a source with an amplitude of 10.0 V. What is the quality factor?",
          120 * math.sqrt(80e-6 / 0.03), ""),
    Decoy("Two long parallel wires 8.00 cm apart carry currents of 3.00 A and 5.00 A in the same"
          " direction. What is the size of the magnetic field half-way between the wires?",
          2e-7 * 2.0 / 0.04 * 1e6, "µT"),
    Decoy("Two coaxial loops of wire with a radius of 8.00 cm carry currents of 3.00 A and 5.00 A in"
          " the same direction, close together. What is the magnetic field at their centre?",
          4e-7 * math.pi * 8 / (2 * 0.08) * 1e6, "µT"),
    Decoy("Light with wavelengths of 450 nm and 650 nm falls on two slits that are 120 µm apart. A"
          " screen stands at a distance of 2.00 m. How far apart are the bright fringes of the third"
          " order for the two wavelengths?", 3 * 200e-9 * 2 / 120e-6, "m"),
    Decoy("Light of two wavelengths, 450 nm and 650 nm, falls on a grating with slits 5.00 µm apart."
          " On a screen at a distance of 2.00 m, how far apart are the two wavelengths in second"
          " order?", 2 * (math.tan(math.asin(0.26)) - math.tan(math.asin(0.18))), "m"),
    Decoy("An object with a height of 12.0 mm stands 30.0 cm in front of a concave mirror with a"
          " radius of 40.0 cm. What is the distance of the image?", 60.0, "cm"),
    Decoy("An object with a height of 12.0 mm stands 30.0 cm from a diverging lens with a focal"
          " length of 20.0 cm. What is the distance of the image from the lens?",
          12.0, "cm"),
    Decoy("A ray falls at an angle of incidence of 50.0° from glass with an index of 1.33 onto glass"
          " with an index of 1.62. What is the angle of refraction?",
          math.degrees(math.asin(1.33 * math.sin(_rad(50)) / 1.62)), "°"),
    Decoy("A spaceship passes a planet at such a speed that its clock runs slow. A flight that takes"
          " 12.0 s on board takes 20.0 s on the planet. What is its speed as a share of the speed of"
          " light?", 0.8, ""),
    Decoy("A bar has a length of 2.00 m at rest and lies at 60° to the way it flies. As seen in"
          " flight its length is 1.85 m. What is its speed as a share of the speed of light?",
          math.sqrt(1 - (1.85**2 - 3.0) / 1.0), ""),
    Decoy("A nucleus with 56 nucleons has a mass defect of 0.528 u. If it formed from helium nuclei"
          " with 0.0304 u of mass defect each, what energy would be released?",
          (0.528 - 14 * 0.0304) * 931.494, "MeV"),
    Decoy("A sample has an activity of 640 1/min. After 12.0 h its activity is 210 1/min. What is the"
          " half-life of the isotope?", 12 * math.log(2) / math.log(640 / 210), "h"),
    Decoy("A rate constant is 2.40e-4 1/s at 300 K. The activation energy is 65.0 kJ/mol. What is"
          " the rate constant at 320 K?",
          2.4e-4 * math.exp(65000 / 8.314462618 * (1 / 300 - 1 / 320)), "1/s"),
    Decoy("A salt AB2 with a solubility product of 4.00e-9 mol³/L³ is put into water that holds"
          " 0.050 mol/L of the common cation. What is its solubility in the solution?",
          math.sqrt(4e-9 / 0.05) / 2, "mol/L"),
    Decoy("A buffer of 250 mL has a concentration of the weak acid of 0.20 mol/L and of its anion of"
          " 0.15 mol/L. The acid constant is 1.80e-5 mol/L. Then 20.0 mL of hydrochloric acid with a"
          " concentration of 0.50 mol/L is added. What is the pH of the mixture?",
          -math.log10(1.8e-5 * (50 + 10) / (37.5 - 10)), ""),
    Decoy("A volume of 25.0 mL of ammonia with a concentration of 0.40 mol/L is diluted to 500 mL."
          " The base constant is 1.80e-5 mol/L. What is the pH of the solution?",
          14 + math.log10((-1.8e-5 + math.sqrt(1.8e-5**2 + 4 * 1.8e-5 * 0.02)) / 2), ""),
    Decoy("A heater burns 25.0 g of butane completely to carbon dioxide and water. Each litre of air"
          " holds 0.275 g/L of oxygen. What volume of air is needed?",
          25 / 58.12 * 6.5 * 31.998 / 0.275, "L"),
    Decoy("A round piece of metal with a diameter of 12.0 cm is plated on both sides with a layer"
          " 20.0 µm thick by a current of 1.50 A. The density is 8.90 g/cm³, the molar mass"
          " 58.69 g/mol and the charge number 2. What time does it take?",
          2 * math.pi * 36 * 20e-4 * 8.9 / 58.69 * 2 * 96485.33 / 1.5, "s"),
    Decoy("A satellite is on a circular orbit 400 km above the Earth and another 800 km above it."
          " What is the difference of their speeds?",
          math.sqrt(398600.4 / 6771) - math.sqrt(398600.4 / 7171), "km/s"),
    Decoy("A cantilever beam with a span of 4.00 m carries a uniform load of 3.00 kN/m, and a machine"
          " with a weight of 12.0 kN stands 2.50 m from the support. What is the greatest bending"
          " moment?", 12 * 2.5 + 3 * 8, "kN·m"),
    Decoy("Two points lie at distances of 3.20 m and 4.10 m in the directions 20.0° and 75.0° from a"
          " mark. How far from the mark is the point half-way between them?",
          0.5 * math.sqrt(3.2**2 + 4.1**2 + 2 * 3.2 * 4.1 * math.cos(_rad(55))), "m"),
    Decoy("A plane flies along a path at an angle of 12.0° below the horizontal and loses a height"
          " of 2.40 km in 300 s. A wind blows against it with a tenth of its speed along the path."
          " What is its speed through the air?",
          1.1 * 2400 / math.sin(_rad(12)) / 300, "m/s"),
    Decoy("A path climbs at an angle of 6.00° over a distance of 850 m, which takes 900 s. What"
          " height is gained in each minute?", 850 * math.sin(_rad(6)) / 15, "m"),
    Decoy("Water flows through a pipe with a diameter of 80.0 mm at a mean velocity of 1.50 m/s. It"
          " then narrows to 50.0 mm. The density is 1000 kg/m³. What is the loss of pressure?",
          0.5 * 1000 * 1.5**2 * ((80 / 50) ** 4 - 1) / 1000, "kPa"),
)  # fmt: skip

# Families turned round or asked for something beside, as far as possible in words of their own.
TURNED_ROUND = (
    Decoy(
        "A cyclist covers a distance of 120 m in 15.0 s, starting at a speed of 5.00 m/s and speeding up evenly. What is the acceleration?",
        2 * (120 - 75) / 225,
        "m/s²",
    ),
    Decoy(
        "A train speeds up with an acceleration of 0.80 m/s² over a distance of 400 m from a speed of 12.0 m/s at the start. What is the speed at the end?",
        math.sqrt(144 + 640),
        "m/s",
    ),
    Decoy(
        "A car has a speed of 30.0 m/s at the end after it sped up with an acceleration of 2.00 m/s² for a time of 6.00 s. What distance was covered?",
        30 * 6 - 36,
        "m",
    ),
    Decoy(
        "A car has a speed of 30.0 m/s at the end after it sped up with an acceleration of 2.00 m/s² for a time of 6.00 s. What was its speed at the start?",
        18.0,
        "m/s",
    ),
    Decoy(
        "Two cyclists start with speeds of 5.00 m/s and 8.00 m/s; each covers the distance in a time of 30.0 s less or more. By what distance are they apart after this time?",
        90.0,
        "m",
    ),
    Decoy(
        "A wagon with a mass of 1200 kg reaches an acceleration of 0.50 m/s² when the engine pulls with 900 N. What is the friction force on the wagon?",
        300.0,
        "N",
    ),
    Decoy(
        "A net force of 45.0 N gives a wagon an acceleration. Another wagon with a mass of 30.0 kg more than the first, 20.0 kg, gets the same force. What is the acceleration of the heavier wagon?",
        45 / 50,
        "m/s²",
    ),
    Decoy(
        "Two wagons with masses of 400 kg and 600 kg are tied together and pulled with a net force of 500 N. What is the acceleration?",
        0.5,
        "m/s²",
    ),
    Decoy(
        "A lift car with a mass of 700 kg hangs still. The cable breaks and the friction force in the guide rails is 2000 N. What work is done by friction while it falls through a height of 5.00 m?",
        -10.0,
        "kJ",
    ),
    Decoy(
        "A lift car with a mass of 700 kg is pulled up through a height of 20.0 m at constant speed against a friction force of 300 N. The motor has a power of 15.0 kW. How long does it take?",
        (700 * G + 300) * 20 / 15000,
        "s",
    ),
    Decoy(
        "A load with a mass of 2.00 kg is dropped from a height of 1.50 m above the upper end of a spring and compresses it by 10.0 cm at most. What is the spring constant?",
        2 * 2 * G * 1.6 / 0.01 / 1000,
        "kN/m",
    ),
    Decoy(
        "A load with a mass of 2.00 kg is set gently on an upright spring with a spring constant of 0.80 kN/m whose upper end is at a height of 0.50 m. By how much is the spring compressed?",
        2 * G / 800 * 100,
        "cm",
    ),
    Decoy(
        "A load with a mass of 2.00 kg is thrown down with a speed of 3.00 m/s from a height of 1.50 m above a spring with a spring constant of 0.80 kN/m. What is the speed at which the load meets the spring?",
        math.sqrt(9 + 2 * G * 1.5),
        "m/s",
    ),
    Decoy(
        "A ball is dropped from a height of 12.0 m and at the same time another leaves the edge with a horizontal speed of 4.00 m/s. What is the distance between them when they reach the floor?",
        4 * math.sqrt(24 / G),
        "m",
    ),
    Decoy(
        "A ball leaves the edge of a table with a horizontal speed of 3.00 m/s and lands at a horizontal distance of 1.40 m from the edge. What is the drop to the floor?",
        0.5 * G * (1.4 / 3) ** 2,
        "m",
    ),
    Decoy(
        "A ball leaves the edge of a table and lands at a horizontal distance of 1.40 m after a drop of 0.95 m. What is the horizontal speed at the edge?",
        1.4 / math.sqrt(1.9 / G),
        "m/s",
    ),
    Decoy(
        "A ball leaves the edge of a table with a horizontal speed of 3.00 m/s. After which time has it a speed of 7.00 m/s, if the drop is 5.00 m?",
        math.sqrt(40) / G,
        "s",
    ),
    Decoy(
        "A projectile is thrown with a launch speed of 20.0 m/s at a launch angle of 35.0° above the horizontal from a height of 3.00 m above the water. At what time does it reach its greatest height?",
        20 * math.sin(_rad(35)) / G,
        "s",
    ),
    Decoy(
        "A projectile with a launch speed of 20.0 m/s and a launch angle of 35.0° above the horizontal starts at a height of 3.00 m above the water. What is its horizontal distance at the greatest height?",
        400 * math.sin(_rad(35)) * math.cos(_rad(35)) / G,
        "m",
    ),
    Decoy(
        "A crate with a mass of 40.0 kg is pulled at constant speed with a rope at an angle of 30.0° above the floor. The coefficient of kinetic friction is 0.25 and that of static friction 0.40. What is the pull in the rope?",
        0.25 * 40 * G / (math.cos(_rad(30)) + 0.25 * math.sin(_rad(30))),
        "N",
    ),
    Decoy(
        "A crate with a mass of 40.0 kg is pulled with a rope with a pull of 150 N at an angle of 30.0° above the floor. It is at rest and the coefficient of static friction is 0.60. What is the greatest friction force the floor could give?",
        0.6 * (40 * G - 75),
        "N",
    ),
    Decoy(
        "A glider with a mass of 200 g and a velocity of 0.60 m/s hits another with a mass of 300 g at rest on an air track. After the collision the left glider has a velocity of 0.10 m/s. What is the velocity of the right glider after the collision?",
        0.2 * 0.5 / 0.3,
        "m/s",
    ),
    Decoy(
        "Two gliders with masses of 200 g and 300 g on an air track have velocities of 0.60 m/s and -0.20 m/s before the collision. What is the velocity of their centre of mass after the collision?",
        (0.12 - 0.06) / 0.5,
        "m/s",
    ),
    Decoy(
        "A string has a mass of 4.00 g and a length of 1.60 m. The tension is 90.0 N and the wavelength of a wave on it is 0.40 m. What is the frequency?",
        math.sqrt(90 / 0.0025) / 0.4,
        "Hz",
    ),
    Decoy(
        "A string has a mass per length of 2.50 g/m. A wave with a wavelength of 0.40 m has a frequency of 300 Hz. What is the speed of the wave?",
        120.0,
        "m/s",
    ),
    Decoy(
        "A slack string has a frequency of 430 Hz with a tension of 100 N. The tension is raised to 104 N. What is the frequency of the beats with an equal slack string?",
        430 * (math.sqrt(1.04) - 1),
        "Hz",
    ),
    Decoy(
        "An ideal heat engine takes up 900 J of heat and gives off 500 J of heat in each cycle. The temperature of the cold side is 300 K. What is the temperature of the hot side?",
        540.0,
        "K",
    ),
    Decoy(
        "An ideal heat engine has an efficiency of 0.40 and a temperature of the hot side of 500 K. It does 200 J of work in each cycle. What is the temperature of the cold side?",
        300.0,
        "K",
    ),
    Decoy(
        "Metal with a mass of 0.30 kg and a temperature of 200 °C is dropped into water with a mass of 0.50 kg and a temperature of 20.0 °C. The final temperature is 29.0 °C. What is the specific heat of the metal?",
        0.5 * 4186 * 9 / (0.3 * 171),
        "J/(kg·K)",
    ),
    Decoy(
        "Two rods with a diameter of 2.00 cm and a length of 30.0 cm each are joined end to end. The conductivities are 50.0 W/(m·K) and 200 W/(m·K). A heat flow of 3.00 W passes through them, and the temperature of the cold end is 20.0 °C. What is the temperature where the rods meet, if the second rod is at the cold end?",
        20 + 3 * 0.3 / (200 * math.pi * 0.0001),
        "°C",
    ),
    Decoy(
        "A capacitor with a capacitance of 100 µF has a voltage of 50.0 V. It discharges through a resistance of 20.0 kΩ. What is the voltage after a time of 3.00 s?",
        50 * math.exp(-1.5),
        "V",
    ),
    Decoy(
        "A coil with an inductance of 20.0 mH and a capacitor are in series with a resistance of 5.00 Ω. The frequency at resonance is 800 Hz and the amplitude of the source is 6.00 V. What is the capacitance?",
        1000000.0 / ((2 * math.pi * 800) ** 2 * 0.02),
        "µF",
    ),
    Decoy(
        "A coil with an inductance of 20.0 mH and a capacitor with a capacitance of 2.00 µF are in series with a resistance of 5.00 Ω and a source with an amplitude of 6.00 V. What is the amplitude of the voltage across the capacitor at resonance?",
        6 * math.sqrt(0.02 / 2e-06) / 5,
        "V",
    ),
    Decoy(
        "The first wire carries a current of 4.00 A, the second wire a current of 6.00 A. The size of the force on each metre of wire is 120 µN/m. What is the distance between the wires?",
        2e-07 * 24 / 0.00012 * 100,
        "cm",
    ),
    Decoy(
        "Two long parallel wires carry currents of 4.00 A and 6.00 A in the same direction. The distance between the wires is 5.00 cm. What is the size of the force on a length of 3.00 m of wire?",
        2e-07 * 24 / 0.05 * 3 * 1000000.0,
        "µN",
    ),
    Decoy(
        "Light with a wavelength of 500 nm falls on a grating with a distance between neighbouring slits of 2.00 µm. The distance of the screen is 1.50 m. What is the distance of the first order from the middle, if the longest wavelength 700 nm is cut out?",
        1.5 * math.tan(math.asin(0.25)),
        "m",
    ),
    Decoy(
        "An object stands 15.0 cm from a thin lens and its image is 30.0 cm from the lens on the far side. What is the focal length of the lens?",
        10.0,
        "cm",
    ),
    Decoy(
        "A thin lens with a focal length of 10.0 cm forms an image with a size of the magnification of 2.00 of an object with a height of 5.00 mm. What is the distance of the object from the lens, if the image is real?",
        15.0,
        "cm",
    ),
    Decoy(
        "A ray falls on a first glass with an index of 1.50 at an angle of incidence of 40.0° and then passes into a second glass with an index of 1.70. What is the angle in the second glass?",
        math.degrees(math.asin(math.sin(_rad(40)) / 1.7)),
        "°",
    ),
    Decoy(
        "A ship has a length at rest of 80.0 m. It flies at a speed as a share of the speed of light of 0.60. What is its length as seen in flight?",
        64.0,
        "m",
    ),
    Decoy(
        "A ship has a length at rest of 80.0 m and its length as seen in flight is 64.0 m. A passenger takes 10.0 s to walk through it. What time does this take, as seen from the mark?",
        12.5,
        "s",
    ),
    Decoy(
        "A nucleus with 60 nucleons has a binding energy of each nucleon of 8.70 MeV. What is its mass defect?",
        522 / 931.494,
        "u",
    ),
    Decoy(
        "The activity of a sample is 5.00 1/min, the activity of fresh material 15.0 1/min. The age of the sample is 400 yr. What is the half-life?",
        400 * math.log(2) / math.log(3),
        "yr",
    ),
    Decoy(
        "The activity of fresh material is 15.0 1/min. What is the activity of the sample at an age of 3000 yr, if the half-life is 5730 yr?",
        15 * 2 ** (-3000 / 5730),
        "1/min",
    ),
    Decoy(
        "The rate constant doubles from 2.00e-3 1/s to 4.00e-3 1/s between a lower temperature of 300 K and a higher temperature of 310 K. What is the rate constant at a temperature of 320 K?",
        0.002 * math.exp(math.log(2) / (1 / 300 - 1 / 310) * (1 / 300 - 1 / 320)),
        "1/s",
    ),
    Decoy(
        "The solubility in pure water of a salt of two ions is 2.00e-5 mol/L. What is its solubility in a solution with a concentration of the common ion of 0.010 mol/L?",
        (-0.01 + math.sqrt(0.0001 + 4 * 4e-10)) / 2,
        "mol/L",
    ),
    Decoy(
        "A weak acid with a concentration of 0.20 mol/L in a stock solution is diluted from a volume of 50.0 mL to a volume of 250 mL. The pH of the diluted solution is 3.10. What is the acid constant?",
        (10 ** (-3.1)) ** 2 / (0.04 - 10 ** (-3.1)),
        "mol/L",
    ),
    Decoy(
        "Propane with a mass of 10.0 g burns. Each litre of air holds 0.280 g/L of oxygen. What is the mass of carbon dioxide?",
        10 / 44.1 * 3 * 44.01,
        "g",
    ),
    Decoy(
        "A surface with an area of 0.20 m² gets a coating of a metal with a density of 8.90 g/cm³ and a molar mass of 58.7 g/mol. The charge number of the ion is 2, the current is 5.00 A and the time is 3600 s. What is the thickness of the coating?",
        5 * 3600 / 96485.3 / 2 * 58.7 / 8.9 / 2000 * 10000.0,
        "µm",
    ),
    Decoy(
        "A parachutist with a mass of 90.0 kg has a terminal speed of 55.0 m/s. The density of the air is 1.20 kg/m³ and the area across the fall is 0.60 m². What is the drag coefficient?",
        2 * 90 * G / (1.2 * 0.6 * 55**2),
        "",
    ),
    Decoy(
        "A parachutist with a mass of 90.0 kg, an area across the fall of 0.60 m² and a drag coefficient of 0.80 falls through air with a density of 1.20 kg/m³. What is the drag at the terminal speed?",
        90 * G,
        "N",
    ),
    Decoy(
        "A parachutist with a mass of 90.0 kg, an area across the fall of 0.60 m² and a drag coefficient of 0.80 falls through air with a density of 1.20 kg/m³. What is the net force at a third of the terminal speed?",
        90 * G * (1 - 1 / 9),
        "N",
    ),
    Decoy(
        "The diameter of a piston is 10.0 cm, its stroke 8.00 cm and the work done on the piston 150 J. What is the constant pressure?",
        150 / (math.pi * 0.0025 * 0.08),
        "Pa",
    ),
    Decoy(
        "A thermometer has a bulb with a volume of 0.50 cm³ and a bore with a diameter of 0.20 mm. The volume expansion of the liquid is 1.10e-3 1/K and that of the glass 2.50e-5 1/K. The liquid rises by 4.00 cm. What is the rise in temperature?",
        0.04 * math.pi * 1e-08 / (5e-07 * (0.0011 - 2.5e-05)),
        "K",
    ),
    Decoy(
        "The resistance of a coil is 40.0 Ω at 15.0 °C at first and 52.0 Ω at 80.0 °C at the end. What is the temperature coefficient at the first temperature?",
        12 / 40 / 65,
        "1/K",
    ),
    Decoy(
        "A path climbs steadily and gains a height of 300 m over a horizontal distance of 2000 m in 1800 s. What is the average speed along the path?",
        math.hypot(300, 2000) / 1800,
        "m/s",
    ),
    Decoy(
        "A plane gains a height of 2000 m in a time of 240 s at an angle of the climb above the horizontal of 8.00°. What is its average vertical speed?",
        2000 / 240,
        "m/s",
    ),
    Decoy(
        "A point has a distance of 3.00 m in the direction 20.0° and a second point a distance of 5.00 m in the direction 110° from it. What is the distance of the second point from the mark?",
        math.sqrt(34),
        "m",
    ),
    Decoy(
        "A floor beam with a span of 6.00 m carries a uniform load of 2.00 kN/m and the weight of a machine of 10.0 kN at a distance of 2.00 m from support A. The elastic section modulus is 300 cm³. What is the bending moment at mid-span?",
        2 * 36 / 8 + 10 * 2 / 2,
        "kN·m",
    ),
    Decoy(
        "A satellite has a height at the lowest point of its orbit of 300 km and a height at the highest point of 3000 km. What is its speed at the lowest point?",
        math.sqrt(398600.44 * (2 / 6671 - 2 / (6671 + 9371))),
        "km/s",
    ),
    Decoy(
        "Water with a density of 1000 kg/m³ and a kinematic viscosity of 1.00 mm²/s flows through a pipe with an inner diameter of 50.0 mm at a mean velocity of 2.00 m/s. What is the Reynolds number?",
        100000.0,
        "",
    ),
)

# Near to the families; written after the weights were set, to try them.
NEAR_BY = (
    Decoy(
        "A skier with a mass of 70.0 kg starts from rest and reaches a speed of 12.0 m/s at the foot of a hill with a height of 10.0 m. How much work does friction do?",
        -(70 * G * 10 - 0.5 * 70 * 144) / 1000,
        "kJ",
    ),
    Decoy(
        "A truck at a speed of 20.0 m/s passes a car at rest, which then accelerates at 2.50 m/s². After what time does the car catch up?",
        16.0,
        "s",
    ),
    Decoy(
        "A train with a speed of 15.0 m/s accelerates at 0.50 m/s² for 20.0 s and then keeps its speed for as long again. What distance does it travel?",
        15 * 20 + 100 + 25 * 20,
        "m",
    ),
    Decoy(
        "A bus with a mass of 8000 kg moves at 10.0 m/s. A net force of 4000 N acts on it for some time until its speed is 15.0 m/s. What is its acceleration?",
        0.5,
        "m/s²",
    ),
    Decoy(
        "A rocket with a mass of 500 kg is lifted by a thrust of 9000 N. What is its acceleration?",
        9000 / 500 - G,
        "m/s²",
    ),
    Decoy(
        "A sledge with a mass of 40.0 kg is pulled over level snow with a force of 80.0 N; the friction coefficient is a twentieth. What is the acceleration?",
        2 - 0.05 * G,
        "m/s²",
    ),
    Decoy(
        "A stone is dropped from a balloon that rises at 5.00 m/s when it is at a height of 60.0 m. How long does it take to reach the ground?",
        (5 + math.sqrt(25 + 120 * G)) / G,
        "s",
    ),
    Decoy(
        "A hose throws water at 15.0 m/s at an angle of 50.0° above the horizontal from a nozzle at a height of 1.20 m. How far above the ground does the water hit a wall at a distance of 8.00 m?",
        1.2 + 8 * math.tan(_rad(50)) - G * 64 / (2 * (15 * math.cos(_rad(50))) ** 2),
        "m",
    ),
    Decoy(
        "A stunt rider leaves a cliff with a horizontal speed of 18.0 m/s. The cliff is 30.0 m high and he lands on a shelf 10.0 m above the ground. How long is he in the air?",
        math.sqrt(40 / G),
        "s",
    ),
    Decoy(
        "An elevator with a mass of 1000 kg is hoisted through 25.0 m in total; over the first part it speeds up to 2.00 m/s, and friction is 400 N. What work has the cable done when the speed is reached at the end of the way?",
        (1000 * G * 25 + 400 * 25 + 0.5 * 1000 * 4) / 1000,
        "kJ",
    ),
    Decoy(
        "A worker pulls a crate of 30.0 kg with a force of 100 N on a rope at an angle of 25.0° to the floor over a distance of 6.00 m. The coefficient of kinetic friction is 0.20. How much work does friction do?",
        -0.2 * (30 * G - 100 * math.sin(_rad(25))) * 6,
        "J",
    ),
    Decoy(
        "Two ice skaters with masses of 60.0 kg and 80.0 kg move at 3.00 m/s and 1.00 m/s in the same direction and hold on to each other when they meet. What is their velocity afterwards?",
        (180 + 80) / 140,
        "m/s",
    ),
    Decoy(
        "A string of a violin is 0.330 m long, has a mass per length of 0.60 g/m and a tension of 70.0 N. What is the wavelength of its lowest tone?",
        0.66,
        "m",
    ),
    Decoy(
        "A wave on a rope has a frequency of 5.00 Hz. The rope has a tension of 40.0 N and a mass per length of 100 g/m. What is the wavelength?",
        20 / 5,
        "m",
    ),
    Decoy(
        "An engine takes up 800 J of heat at 500 K in each cycle and has an efficiency of 0.25. How much work does it do in each cycle?",
        200.0,
        "J",
    ),
    Decoy(
        "A heat engine has an efficiency of 0.30, which is 60 % of that of an ideal engine. Its cold side is at a temperature of 300 K. What is the temperature of the hot side?",
        600.0,
        "K",
    ),
    Decoy(
        "A cup of tea with 0.25 kg of water at 85.0 °C gets a spoon of metal with a mass of 0.050 kg, a specific heat of 400 J/(kg K) and a temperature of 20.0 °C. What is the final temperature?",
        (0.25 * 4186 * 85 + 0.05 * 400 * 20) / (0.25 * 4186 + 20),
        "°C",
    ),
    Decoy(
        "A copper wire with a resistance of 20.0 Ω at 20.0 °C has a resistance of 24.0 Ω when it is hot. Its temperature coefficient is 3.90e-3 1/K. At which temperature is it?",
        20 + 0.2 / 0.0039,
        "°C",
    ),
    Decoy(
        "A capacitor of 47.0 µF is charged to 300 V. It discharges through 10.0 kΩ. What charge is left after 0.30 s?",
        4.7e-05 * 300 * math.exp(-0.3 / 0.47) * 1000,
        "mC",
    ),
    Decoy(
        "A capacitor of 47.0 µF is charged to 300 V. Through which resistance does it discharge to 50.0 V in 2.00 s?",
        2 / (4.7e-05 * math.log(6)) / 1000,
        "kΩ",
    ),
    Decoy(
        "A flash has a capacitor of 150 µF at 320 V. It discharges until the voltage is 100 V through a lamp with a resistance of 2.00 kΩ. How long does it take if it must fall a further time by half afterwards?",
        0.00015 * 2000 * (math.log(3.2) + math.log(2)),
        "s",
    ),
    Decoy(
        "A coil of 50.0 mH and a capacitor of 20.0 µF are joined without a resistor. The capacitor is charged to a voltage of 10.0 V. What is the greatest current?",
        10 * math.sqrt(2e-05 / 0.05),
        "A",
    ),
    Decoy(
        "Three long parallel wires lie 4.00 cm apart side by side. The outer ones carry 2.00 A and 5.00 A, the middle one carries 3.00 A, all the same way. What force acts on each metre of the middle one?",
        2e-07 * 3 * (5 - 2) / 0.04 * 1000000.0,
        "µN/m",
    ),
    Decoy(
        "Light of 600 nm falls on a slit with a width of 20.0 µm. The screen is at a distance of 2.00 m. How wide is the bright band in the middle?",
        2 * 2 * math.tan(math.asin(0.03)),
        "m",
    ),
    Decoy(
        "A thin lens with a focal length of 12.0 cm throws an image of a slide on a screen at a distance of 60.0 cm from the lens. The slide has a height of 24.0 mm. How tall is the image?",
        24 * 60 / 15,
        "mm",
    ),
    Decoy(
        "A camera lens with a focal length of 50.0 mm is moved so that an object 2.00 m away is sharp. How far is the lens from the film?",
        1 / (1 / 50 - 1 / 2000),
        "mm",
    ),
    Decoy(
        "A beam falls at an angle of incidence of 60.0° on a plate of glass with an index of 1.50 and leaves it on the other side into a liquid with an index of 1.30. What is the angle of refraction in the liquid?",
        math.degrees(math.asin(math.sin(_rad(60)) / 1.3)),
        "°",
    ),
    Decoy(
        "A muon flies 600 m through the atmosphere in 2.20 µs of its own time. What is its speed as a share of the speed of light?",
        600 / (299792458 * 2.2e-06) / math.sqrt(1 + (600 / (299792458 * 2.2e-06)) ** 2),
        "",
    ),
    Decoy(
        "A nucleus with 238 nucleons has a mass defect of 1.93 u; its two parts together have a mass defect of 2.13 u. What energy is set free in the fission?",
        0.2 * 931.494,
        "MeV",
    ),
    Decoy(
        "A piece of wood has an activity of 8.00 1/min from 20.0 g of carbon; fresh material has 15.0 1/min from as much. The half-life is 5730 yr. When was the tree cut, if 10 % of the activity comes from the air around?",
        5730 * math.log(15 / 7.2, 2),
        "yr",
    ),
    Decoy(
        "A salt has a solubility product of 4.00e-12 mol³/L³ and gives two anions for each cation. What is its solubility in pure water?",
        0.0001,
        "mol/L",
    ),
    Decoy(
        "A weak acid with a concentration of 0.10 mol/L and an acid constant of 1.80e-5 mol/L is mixed with an equal volume of its sodium salt with a concentration of 0.20 mol/L. What is the pH?",
        -math.log10(1.8e-05 / 2),
        "",
    ),
    Decoy(
        "A solution of 25.0 mL of hydrochloric acid with a concentration of 0.10 mol/L is diluted to 250 mL. What is the pH of the diluted solution?",
        2.0,
        "",
    ),
    Decoy(
        "A current of 2.00 A flows for 1800 s through a solution of copper with a molar mass of 63.5 g/mol and a charge number of 2. What mass is deposited?",
        2 * 1800 / 96485.3 / 2 * 63.5,
        "g",
    ),
    Decoy(
        "The rate constant of a reaction is 1.20e-3 1/s at 350 K and its activation energy 80.0 kJ/mol. What is the frequency factor?",
        0.0012 * math.exp(80000 / 8.314462618 / 350),
        "1/s",
    ),
    Decoy(
        "A beam with a span of 5.00 m rests on supports A and B and carries a weight of 8.00 kN at 2.00 m from A and a further 4.00 kN at 4.00 m from A. What is the reaction at support A?",
        8 * 3 / 5 + 4 * 1 / 5,
        "kN",
    ),
    Decoy(
        "A beam with a span of 5.00 m carries a uniform load of 3.00 kN/m over its left half and a machine with a weight of 6.00 kN at 4.00 m from support A. What is the reaction at support B?",
        (7.5 * 1.25 + 24) / 5,
        "kN",
    ),
    Decoy(
        "A sample has a mean of 52.1 mm and a standard deviation of 1.20 mm from 9 parts. The confidence level is 95 %. What is the half-width of the interval?",
        2.306 * 0.4,
        "mm",
    ),
    Decoy(
        "Measured lengths: 20.1, 20.4, 19.8, 20.2, 20.0 mm. The standard deviation of the process is known to be 0.30 mm. What is the half-width of the confidence interval at a level of 95 %?",
        1.95996 * 0.3 / math.sqrt(5),
        "mm",
    ),
    Decoy(
        "A point P lies at a distance of 6.00 m in the direction 40.0°, a point Q at 4.00 m in the direction 100°. What is the direction from P to Q?",
        math.degrees(
            math.atan2(
                4 * math.sin(_rad(100)) - 6 * math.sin(_rad(40)),
                4 * math.cos(_rad(100)) - 6 * math.cos(_rad(40)),
            )
        ),
        "°",
    ),
    Decoy(
        "Oil with a density of 900 kg/m³ falls through a pipe with an inner diameter of 40.0 mm from a height of 5.00 m. The mean velocity is 1.00 m/s. What power does gravity give?",
        900 * math.pi * 0.0004 * 1 * G * 5,
        "W",
    ),
    Decoy(
        "A cylinder with a diameter of 6.00 cm holds gas at 1.20e5 Pa. A weight of what mass on the piston keeps it at rest, if the air presses with 1.00e5 Pa?",
        20000.0 * math.pi * 0.0009 / G,
        "kg",
    ),
    Decoy(
        "A parachutist with a mass of 80.0 kg has opened a parachute with an area of 30.0 m² and a drag coefficient of 1.40 in air with a density of 1.20 kg/m³. What is the acceleration at a speed of 10.0 m/s?",
        abs(G - 0.5 * 1.2 * 1.4 * 30 * 100 / 80),
        "m/s²",
    ),
    Decoy(
        "A runner starts at 3.00 m/s and gains speed at 0.20 m/s² for 10.0 s while a headwind is ignored; she then looks back at a marker she passed at the start. Her friend, who ran at 3.00 m/s all the time, is how far behind her?",
        10.0,
        "m",
    ),
    Decoy(
        "A tram has an acceleration of 1.20 m/s² for 8.00 s from a speed of 2.00 m/s. What is its average speed in this time?",
        2 + 1.2 * 4,
        "m/s",
    ),
    Decoy(
        "A marble leaves the edge of a shelf with a horizontal speed of 1.50 m/s and drops 1.80 m to the floor. What is its vertical speed at the floor?",
        math.sqrt(2 * G * 1.8),
        "m/s",
    ),
    Decoy(
        "A lift car with a mass of 1200 kg is raised through a height of 30.0 m at constant speed. The friction force in the guide rails is 500 N. What is the tension in the cable?",
        1200 * G + 500,
        "N",
    ),
    Decoy(
        "A load with a mass of 5.00 kg falls from a height of 0.80 m on a spring with a spring constant of 2.00 kN/m. What is the compression of the spring when the load is fastest?",
        5 * G / 2000 * 100,
        "cm",
    ),
    Decoy(
        "A glider with a mass of 150 g and a velocity of 0.90 m/s collides with a glider with a mass of 350 g and a velocity of -0.40 m/s. What is the kinetic energy of both before the collision?",
        0.5 * 0.15 * 0.81 + 0.5 * 0.35 * 0.16,
        "J",
    ),
    Decoy(
        "A string with a mass per length of 3.00 g/m is under a tension of 75.0 N. A wave with a wavelength of 0.50 m travels along it. What is the period of the wave?",
        0.5 / math.sqrt(25000),
        "s",
    ),
    Decoy(
        "An ideal heat engine with an efficiency of 0.35 does 500 J of work in each cycle. Its cold side is at 290 K. What is the entropy given to the cold side in each cycle?",
        (500 / 0.35 - 500) / 290,
        "J/K",
    ),
    Decoy(
        "Two round rods with a diameter of 1.50 cm, each 20.0 cm long, are joined end to end. The conductivity of the rod at the hot end is 100 W/(m·K), that of the rod at the cold end is 50.0 W/(m·K). The hot end is at 90.0 °C, the cold end at 30.0 °C. What is the temperature in the middle of the rod at the hot end?",
        80.0,
        "°C",
    ),
    Decoy(
        "A capacitor of 330 µF at a voltage of 24.0 V is discharged through a resistor of 5.60 kΩ. What current flows after 1.00 s?",
        24 / 5600 * math.exp(-1 / (0.00033 * 5600)) * 1000,
        "mA",
    ),
    Decoy(
        "A resistor of 10.0 Ω, a coil of 25.0 mH and a capacitor of 5.00 µF are in series with a source with an amplitude of 12.0 V. What is the width of the resonance, in angular frequency?",
        400.0,
        "1/s",
    ),
    Decoy(
        "Two long straight wires run parallel at a distance of 6.00 cm. The current in the first wire is 3.00 A, that in the second wire is 7.00 A in the same direction. At which distance from the first wire is the magnetic field zero?",
        6 * 0.3,
        "cm",
    ),
    Decoy(
        "An object with a height of 8.00 mm stands 25.0 cm in front of a thin lens with a focal length of 10.0 cm. What is the distance between the object and the image?",
        25 + 250 / 15,
        "cm",
    ),
    Decoy(
        "Red light falls at an angle of incidence of 45.0° on a first glass with an index of 1.50. Blue light falls at the same angle of incidence on a second glass with an index of 1.70. By what angle do the refracted beams differ?",
        math.degrees(math.asin(math.sin(_rad(45)) / 1.5) - math.asin(math.sin(_rad(45)) / 1.7)),
        "°",
    ),
    Decoy(
        "A ship has a length of 120 m at rest and 90.0 m as seen in flight. What is its speed?",
        math.sqrt(1 - 0.5625) * 299792.458,
        "km/s",
    ),
    Decoy(
        "A nucleus with 40 nucleons has a mass defect of 0.367 u. How much energy is needed to take one more nucleon out, if that takes twice the binding energy of each nucleon?",
        2 * 0.367 * 931.494 / 40,
        "MeV",
    ),
    Decoy(
        "A stove burns 50.0 g of propane. Each litre of air holds 0.280 g/L of oxygen, but half as much air again must be let in. What volume of air is needed?",
        1.5 * 50 / 44.1 * 5 * 32 / 0.28,
        "L",
    ),
    Decoy(
        "A surface of 0.50 m² is coated with a metal with a density of 10.5 g/cm³ and a molar mass of 107.9 g/mol to a thickness of 15.0 µm by a current of 20.0 A. The charge number is 1. How many ions are discharged each second?",
        20 / 1.602176634e-19,
        "1/s",
    ),
    Decoy(
        "A diver with a mass of 75.0 kg falls in air with a density of 1.10 kg/m³. The area across the fall is 0.50 m² and the drag coefficient is 0.90. What is the drag at a speed of 20.0 m/s less than the terminal speed?",
        0.5 * 1.1 * 0.9 * 0.5 * (math.sqrt(2 * 75 * G / (1.1 * 0.9 * 0.5)) - 20) ** 2,
        "N",
    ),
    Decoy(
        "A cable car gains a height of 400 m at an angle of 25.0° above the horizontal in 300 s. What is the speed with which its shadow moves over level ground at noon, the sun straight above?",
        400 / math.tan(_rad(25)) / 300,
        "m/s",
    ),
    Decoy(
        "A piston with a diameter of 12.0 cm is pushed through a stroke of 10.0 cm by a gas at a pressure of 3.00e5 Pa, while the air outside has 1.00e5 Pa. What is the net work on the piston?",
        200000.0 * math.pi * 0.0036 * 0.1,
        "J",
    ),
    Decoy(
        "A thermometer has a bulb with a volume of 0.60 cm³ and a bore with a diameter of 0.15 mm. The volume expansion of the liquid is 2.00e-4 1/K, that of the glass 3.00e-5 1/K. How far apart are the marks for two degrees that differ by 5.00 K?",
        6e-07 * 0.00017 * 5 / (math.pi * 7.5e-05**2) * 100,
        "cm",
    ),
)

DECOYS = (*OTHER_LAWS, *TURNED_ROUND, *NEAR_BY)
