"""Words of the trade: those that mean the same in a question, and those that change a law.

Both lists are common practice of exercise books, no source. They are meant to be safe: two words
count as the same only where an exchange leaves the question as it was.
"""

from __future__ import annotations

import re

SAME = (
    "speed velocity fast quickly swiftly rapidly",
    "distance far apart displacement separation spacing",
    "time duration",
    "height high tall altitude",
    "width wide broad",
    "share fraction portion proportion",
    "greatest maximum maximal largest most highest peak",
    "least minimum minimal smallest lowest",
    "average mean",
    "mass heavy",
    "age old",
    "difference differ differs",
    "amount moles",
    "current amperage",
    "resistance resistor",
    "capacitance capacitor",
    "inductance inductor",
    "resonance resonates resonate resonant resonating",
    "coating coat layer film plating plated plate deposited deposits deposit",
    "supply source",
    "refraction refracted refracts",
    "incidence incident",
    "index indices",
    "conductivity conducted conducts conduct",
    "given reject rejects rejected expelled expels",
    "taken absorb absorbs absorbed",
    "lift elevator hoist",
    "wagon cart trolley carriage",
    "crate box",
    "sledge sled sleigh",
    "cord rope cable",
    "slope incline ramp inclined",
    "floor ground",
    "edge rim",
    "expansion expand expands expanded",
    "compression compressed compress",
    "acceleration accelerates accelerate accelerated accelerating",
    "collision collide collides collided",
    "burning burn burns burned combustion",
    "ionisation ionised ionization ionized dissociation dissociated",
    "solubility soluble dissolves dissolve dissolved",
    "dilution diluted dilutes dilute",
    "contracted contraction contracts",
    "climb climbs climbing ascent rise rises risen rose",
    "increase increases increased grows grow grew",
    "drop drops dropped falls fall falling fell",
    "launch launched thrown throw throws",
    "joint joined join joins meet meets",
    "discharge discharges discharged",
    "vessel container calorimeter can",
    "thick thickness",
    "length long",
    "stretch stretches stretched elongation elongates extension extends extended",
    "size magnitude",
    "disc disk",
    "level horizontal horizontally",
    "orbit orbits orbiting circles circling revolves revolution",
    "sound heard hear hears",
    "closer approach approaches approaching nears",
    "away recede recedes receding",
    "metre meter",
    "centre center middle central",
    "vapour vapor",
    "metal copper iron steel brass aluminium aluminum lead",
)

# A question with one of these that its family does not use is likely ruled by another law.
_TELLING = """
    keep keeps further remains half third quarter tenth fifth twice thrice double triple
    percent halfway midway smooth frictionless rough slope wedge roll rolls rolling turn turns
    turning spin spins rotate rotates rotating rotation axis axle disc disk hoop sphere
    cylinder flywheel wheel pulley lever hinge spring bungee pendulum swing swings oscillate
    oscillates oscillation vibrate amplitude damped collision elastic inelastic stick sticks
    stuck couple coupled bounce bounces rebound restitution explode explodes recoil brake
    brakes braking decelerate decelerates deceleration retardation slow slows slowing stop
    stops upward upwards downward downwards straight vertical vertically below beneath down
    lowered descends descend descending loses lose loss horizontal horizontally level incline
    circular circle circles loop bend curve banked centripetal orbit orbits buoyancy buoyant
    submerged sink float floats water oil viscous drag wind headwind stream moon mars jupiter
    planet asteroid isothermal adiabatic isochoric compressed compress vacuum mirror concave
    convex diverging dispersing magnifier parallel series alternating charge charging charged
    loops coil solenoid toroid magnet magnetic electric dielectric transformer generator
    cantilever clamped overhang sides side refrigerator refrigerators pump reverse reversed
    hydrochloric nitric sulfuric ammonia base strong butane methane ethane octane propane
    ethanol hydrogen coal narrow narrows widens constriction clock clocks dilated proper
    polarised polarized counterweight push pushes pushed pushing tow opposite perpendicular
    inclined shear torsion twist hollow solid ring shell parabola fundamental overtone harmonic
    pipe organ doppler observer listener echo interference fringe fringes slit slits film prism
    critical internal fission fusion helium alpha beta gamma lifetime catalyst against slack
    tight cation anion gained combined together delay restrained insulated steam boil boils
    boiling evaporate evaporates melt melts ice frozen radius diameter salt chloride glass air
    coasting coasts terminal steady
"""

# Of these, words that stand by the way often enough that strong evidence outweighs them.
_INCIDENTAL = """
    keep keeps further remains twice axis axle drag base generator charge charged charging together
    vertical vertically horizontal level circle circles circular roll rolls rolling air glass
    straight water planet
"""

# What qualifies a quantity that is asked for; where its meaning lacks it, another one is meant.
_QUALIFIERS = (
    "greatest least average difference half double relative change potential kinetic elastic"
    " angular normal net static second third initial remaining lost gained percentage ratio"
)

# Words that may ask for any quantity of a unit's dimension.
GENERIC = {
    "s": "time duration long",
    "m": "distance length height width far",
    "m/s": "speed velocity",
    "m/s^2": "acceleration",
    "kg": "mass",
    "N": "force",
    "J": "energy work heat",
    "W": "power",
    "K": "temperature",
    "A": "current",
    "V": "voltage",
    "Hz": "frequency",
    "Pa": "pressure",
    "°": "angle",
    "L": "volume",
    "m^2": "area",
    "mol": "amount",
    "C": "charge",
    "mol/L": "concentration",
}

_PHRASES = (
    (r"\b(?:linear (?:mass )?density|mass (?:per|for each) unit (?:of )?length)\b", "mass length"),
    (r"\b(?:force|stiffness) constant\b", "spring constant"),
    (r"\bhow (?:fast|quick)\b", "speed"),
    (r"\bhow far\b", "distance"),
    (r"\bhow old\b", "age"),
    (r"\bhow (?:tall|high)\b", "height"),
    (r"\bhow wide\b", "width"),
    (r"\bhow (?:hot|warm|cold)\b", "temperature"),
    (r"\bhow heavy\b", "mass"),
    (r"\bhow many moles\b", "amount"),
    (r"\bhow many lit(?:re|er)s\b", "volume"),
    (r"\bconjugate base\b", "anion"),
    (r"\bNaOH\b", "sodium hydroxide"),
    (r"\brefractive index\b", "index"),
    (r"\bemf\b", "electromotive force"),
    (r"\bequilibrium constant\b", "constant"),
    (r"\b(?:force|load) per (?:unit )?(?:length|met(?:re|er))\b", "force each metre"),
    (r"\bacceleration (?:due to|of) gravity\b", "free fall acceleration"),
    (r"\b(?:gravitational acceleration|g-value)\b", "free fall acceleration"),
    (r"\bYoung.?s modulus\b", "elastic modulus"),
    (r"\bcross.?section(?:al)? area\b", "cross section"),
    (r"\bthreshold wavelength\b", "longest wavelength electrons free"),
    (r"\bphotoelectrons?\b", "electrons"),
    (r"\b(?:equivalent|total) (capacitance|resistance)\b", r"\1 whole"),
    (r"\bresonan(?:t|ce) (angular )?frequency\b", r"\1frequency resonance"),
    (r"\bz.?scores?\b", "standard score"),
    (r"\bproper length\b", "length rest"),
    (r"\bfrontal area\b", "area across fall"),
    (r"\bterminal velocity\b", "terminal speed"),
    (r"\bspring stiffness\b", "spring constant"),
    (r"\b(?:rate of heat flow|rate (?:at which|does) heat flows?|heat current)\b", "heat flow"),
    (r"\b(?:kelvin|celsius|fahrenheit)\b", ""),
    (r"\bp.values?\b", "p value"),
    (r"\bchi.squared? statistic\b", "test statistic"),
    (r"\b[tz].?statistic\b", "test statistic"),
    (r"\berror bound\b", "margin error"),
    (r"\bmolar solubility\b", "solubility"),
    (r"\bK_?sp\b", "solubility product"),
    (r"\bK_?a\b", "acid constant"),
    (r"\bper\b", "each"),
    (r"\bheld constant\b", "constant"),
)
TELLING = tuple(_TELLING.split())
INCIDENTAL = tuple(_INCIDENTAL.split())
QUALIFIERS = tuple(_QUALIFIERS.split())
_COMPILED = tuple((re.compile(pattern, re.IGNORECASE), by) for pattern, by in _PHRASES)


def plainly(text: str) -> str:
    """A text with phrases of the trade put in one way."""
    for pattern, by in _COMPILED:
        text = pattern.sub(by, text)
    return text
