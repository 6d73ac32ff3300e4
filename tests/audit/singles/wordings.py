# ruff: noqa: E501
"""Single questions for the shipped families, each story told twice, in words that are not theirs.

Stem with a field for each given that it states, then what it asks for: unknown -> sentence. The
words were written without looking at the stems of the families; some are terse, some are chatty.
"""

from __future__ import annotations

Story = tuple[str, dict[str, str]]

STORIES: dict[str, tuple[Story, ...]] = {
    "arrhenius": (
        ("A first-order reaction has a rate constant of {k_1} at {T_1}. When it is heated to {T_2}"
         " the rate constant grows to {k_2}.",
         {"E": "Calculate the activation energy.",
          "A": "Calculate the frequency factor of the Arrhenius equation."}),
        ("The decomposition of an oxide in a solvent was followed at two temperatures: k = {k_1}"
         " at {T_1} and k = {k_2} at {T_2}.",
         {"E": "What activation energy follows from these measurements?"}),
    ),
    "buffer": (
        ("A beaker holds {V} of a buffer in which the concentration of the weak acid is {c_a} and"
         " the concentration of its anion is {c_b}. The acid constant is {K_a}. Then {V_s} of a"
         " {c_s} solution of sodium hydroxide is poured in.",
         {"pH": "What is the pH of the mixture?",
          "h": "Calculate the concentration of hydrogen ions afterwards."}),
        ("To {V} of buffer solution (weak acid {c_a}, conjugate base {c_b}, K_a = {K_a}) a"
         " technician adds {V_s} of {c_s} NaOH.",
         {"pH": "Find the new pH."}),
    ),
    "capacitor-discharge": (
        ("A capacitor of {C} in a power supply stands at {V_0} when the device is switched off. It"
         " discharges through a bleeder resistor of {R}. The label says to wait {t_w}.",
         {"i_0": "What current flows at the moment of switch-off?",
          "P_0": "How much power does the resistor take up at switch-off?"}),
        ("At switch-off a capacitor with a capacitance of {C} is charged to a voltage of {V_0}. It"
         " empties through a resistance of {R}. A voltage of {V_1} is regarded as harmless. The"
         " waiting time on the label is {t_w}.",
         {"t": "After what time has the voltage fallen to the harmless value?",
          "W": "What energy has been released as heat until then?"}),
    ),
    "carnot-engine": (
        ("A reversible engine working between two reservoirs has an efficiency of {eta} and"
         " delivers {W} of work per cycle. The cold reservoir is kept at {T_c}.",
         {"Q_h": "How much heat does it take up from the hot reservoir in each cycle?",
          "Q_c": "How much heat does it reject to the cold reservoir in each cycle?"}),
        ("An ideal heat engine has an efficiency of {eta} and gives {W} of work in every cycle;"
         " its cold side is at {T_c}.",
         {"T_h": "Find the temperature of the hot side."}),
    ),
    "common-ion": (
        ("The solubility product of a sparingly soluble salt of two ions is {K}. It is dissolved in"
         " a solution which already contains {c} of the common ion.",
         {"s": "What is its solubility there?",
          "s_0": "What is its solubility in pure water?"}),
        ("A salt AB has K = {K}. The concentration of the common ion in the solution is c = {c}.",
         {"s": "How many moles of the salt dissolve per litre of the solution?"}),
    ),
    "decay-dating": (
        ("A piece of charcoal from a hearth shows an activity of {A}, while fresh wood shows an"
         " activity of {A_0}. Carbon-14 has a half-life of 5730 yr.",
         {"t": "How old is the charcoal?",
          "q": "What share of the isotope is left?"}),
        ("Radiocarbon dating: the activity of the sample is {A}, the activity of fresh material is"
         " {A_0}, and the half-life is 5730 yr.",
         {"t": "Determine the age of the sample."}),
    ),
    "drop-on-spring": (
        ("A box with a mass of {m} is dropped from rest {h} above the top of a vertical spring"
         " whose spring constant is {k}. Take g = 9.81 m/s².",
         {"x": "By how much is the spring compressed at most?",
          "v": "How fast is the box when it meets the spring?"}),
        ("A load ({m}) falls from a height of {h} onto an upright spring with a stiffness of {k}.",
         {"F": "Find the greatest force that the spring exerts."}),
    ),
    "elastic-collision": (
        ("On an air track a glider of mass {m_1} moves with a velocity of {v_1}. It hits a second"
         " glider of mass {m_2}, on its right, whose velocity is {v_2}. The collision is elastic.",
         {"w_2": "What is the velocity of the right glider after the collision?",
          "w_1": "What is the velocity of the left glider after the collision?"}),
        ("Two carts collide elastically on a track without friction. The left one has m_1 = {m_1}"
         " and v_1 = {v_1}, the right one has m_2 = {m_2} and v_2 = {v_2}.",
         {"w_1": "Calculate the velocity of the left cart afterwards.",
          "J": "How large is the impulse on either cart?"}),
    ),
    "electroplating": (
        ("A metal part with a surface area of {S} is to receive a coating {h} thick. The plating"
         " bath carries a current of {I}. The metal has a density of {rho} and a molar mass of {M};"
         " its ions carry a charge number of {z}.",
         {"t": "How long does the plating take?",
          "m": "What mass of metal is deposited?"}),
        ("An electrolysis cell deposits a layer of thickness {h} on {S} of sheet at a current of"
         " {I}. Density: {rho}. Molar mass: {M}. Charge number of the ion: {z}.",
         {"Q": "What charge has to flow?"}),
    ),
    "elliptic-orbit": (
        ("A satellite moves about the Earth on an ellipse. The lowest point of its orbit lies {h_p}"
         " above the ground, the highest point {h_a}. It passed the lowest point {t} ago.",
         {"r": "What is its distance from the centre of the Earth now?",
          "v": "What is its speed now?"}),
        ("The perigee height of a satellite is {h_p} and the apogee height is {h_a}. Consider the"
         " time {t} after perigee.",
         {"E": "Find the eccentric anomaly."}),
    ),
    "floor-beam": (
        ("A simply supported floor beam spans {L} and carries a uniform load of {w}. A machine"
         " with a weight of {P} stands {a} from support A. Its elastic section modulus is {S}.",
         {"R_A": "What is the reaction at support A?",
          "R_B": "What is the reaction at support B?",
          "M": "What is the greatest bending moment?",
          "sigma": "What is the greatest bending stress?"}),
    ),
    "grating-screen": (
        ("White light shines through a diffraction grating whose slits are {d} apart onto a wall"
         " at a distance of {L}. The shortest wavelength is {l_1} and the longest wavelength is"
         " {l_2}. Consider the first order.",
         {"w": "How wide is the spectrum on the wall?",
          "y_2": "How far from the middle is the longest wavelength?"}),
        ("In the first-order spectrum of a grating (spacing {d}) on a screen {L} away, the shortest"
         " wavelength seen is {l_1}, the longest wavelength is {l_2}.",
         {"y_1": "Find the distance of the shortest wavelength from the central maximum."}),
    ),
    "hot-metal-in-water": (
        ("A blacksmith quenches a piece of metal of {m} at a temperature of {T_m} in {m_w} of water"
         " at {T_w}. The specific heat of the metal is {c}, that of water 4186 J/(kg K).",
         {"T": "What final temperature do metal and water reach?",
          "S": "What is the change of the whole entropy?",
          "S_w": "By how much does the entropy of the water change?"}),
        ("{m} of metal (specific heat {c}, temperature {T_m}) is put into {m_w} of water with a"
         " temperature of {T_w} in an insulated vessel.",
         {"T": "Calculate the final temperature.",
          "Q": "How much heat is exchanged?"}),
    ),
    "length-contraction": (
        ("A rocket has a length of {L_0} at rest. An observer whom it passes in flight measures a"
         " length of {L}.",
         {"b": "What is its speed as a fraction of the speed of light?",
          "gamma": "What is the Lorentz factor?"}),
        ("A spaceship whose length at rest is L_0 = {L_0} appears contracted to L = {L} as it flies"
         " by.",
         {"b": "How fast is it moving, as a share of the speed of light?",
          "t": "How long does it take to pass a mark on the station?"}),
    ),
    "level-launch": (
        ("A marble rolls off the edge of a bench with a horizontal speed of {v_0} and falls {h} to"
         " the floor. Use g = 9.81 m/s².",
         {"t": "How long is it in the air?",
          "x": "How far from the edge of the bench, horizontally, does it hit the floor?"}),
        ("A stone is thrown horizontally at {v_0} from the top of a cliff {h} high.",
         {"v": "With what speed does it reach the ground?",
          "t": "Find the time of fall."}),
    ),
    "lift-work": (
        ("An elevator car of {m} is raised by {h} at a constant speed. Friction in the guide rails"
         " amounts to {f}. Use g = 9.81 m/s².",
         {"W_c": "Find the work done by the cable.",
          "W_f": "Find the work done by friction."}),
        ("A hoist cable pulls a loaded lift car with a mass of {m} up through {h} at steady speed"
         " against a friction force of {f}.",
         {"W_c": "How much work does the cable do?",
          "W_g": "How much work does gravity do?"}),
    ),
    "line-throw": (
        ("From the deck of a boat, {h} above the water, a line is thrown with a launch speed of"
         " {v_0} at an angle of {theta} above the horizontal.",
         {"t": "How long is it in flight?",
          "x": "At what horizontal distance does it splash into the water?"}),
        ("A projectile is launched at {v_0} and {theta} above the horizontal from a point {h} above"
         " the water. Ignore air resistance; g = 9.81 m/s².",
         {"H": "What is its greatest height above the water?",
          "v": "What is its speed when it strikes the water?"}),
    ),
    "mean-interval": (
        ("A machinist measured the lengths of some pins: {x}. The nominal length is {m_0}. Assume a"
         " normal distribution and use a confidence level of {C}.",
         {"e": "What is the half-width of the confidence interval for the mean?",
          "low": "What is the lower end of the confidence interval for the mean?"}),
    ),
    "melting-ice": (
        ("A copper can of {m_v} holds {m_w} of water; both are at {T_w}. A block of ice with a mass"
         " of {m_i} and a temperature of {T_i} is added. No heat is lost.",
         {"T": "What is the final temperature?",
          "m": "What mass of ice is there at the end?"}),
    ),
    "nucleus-mass-defect": (
        ("The mass defect of a nucleus that consists of {A} nucleons is {D}.",
         {"E": "What is its total binding energy?",
          "e": "What is the binding energy per nucleon?"}),
        ("A nucleus with A = {A} nucleons is lighter than its parts by {D}; this is its mass"
         " defect.",
         {"e": "Calculate the binding energy for each nucleon."}),
    ),
    "one-sample-t": (
        ("The waiting times of some patients were {x}. The clinic claims that the mean is {m_0}."
         " Test this claim at a significance level of {a}.",
         {"t": "Calculate the test statistic."}),
        ("Test at the {a} level whether the mean waiting time is {m_0}. The sample: {x}.",
         {"t": "What is the value of the t statistic?"}),
    ),
    "parallel-wires": (
        ("Two long straight cables run parallel at a separation of {d}. They carry currents of"
         " {I_1} and {I_2}.",
         {"q": "How large is the force per metre of cable?"}),
        ("The first of two long parallel wires carries a current of {I_1}, the second wire carries"
         " a current of {I_2}. The distance between the wires is {d}.",
         {"B": "What is the magnetic field of the first wire at the second?",
          "q": "What force acts on each metre of wire?"}),
    ),
    "pipe-friction": (
        ("Oil flows through a pipe with an inner diameter of {D}, a length of {len} and a wall"
         " roughness of {k}. The mean velocity is {v}, the kinematic viscosity {nu} and the density"
         " {rho}.",
         {"dp": "What pressure is lost to friction?",
          "f": "What is the friction factor?",
          "Q": "What is the volume flow?"}),
    ),
    "piston-work": (
        ("A gas at {p} pushes a piston of diameter {d} outwards by {s}, the pressure being held"
         " constant.",
         {"W": "How much work does the gas do on the piston?",
          "F": "What force acts on the piston?"}),
        ("The piston of a cylinder has a diameter of {d} and makes a stroke of {s} at a constant"
         " pressure of {p}.",
         {"A": "What is the area of the piston?",
          "W": "Calculate the work done."}),
    ),
    "polar-distance": (
        ("From a lighthouse a buoy is seen at a distance of {r_1} in the direction {phi_1}, a"
         " second buoy at a distance of {r_2} in the direction {phi_2}. Directions are measured"
         " anticlockwise from east.",
         {"d": "How far apart are the two buoys?"}),
        ("Two points are given in polar coordinates: r_1 = {r_1}, phi_1 = {phi_1}; r_2 = {r_2},"
         " phi_2 = {phi_2}.",
         {"d": "Find the distance between the two points.",
          "A": "Find the area of the triangle which they form with the origin."}),
    ),
    "pressure-to-concentration": (
        ("A gas reaction turns {n_r} molecules of gas among the reactants into {n_p} molecules of"
         " gas among the products. Its equilibrium constant in pressures is {K_p} at {T}.",
         {"K_c": "What is the equilibrium constant in concentrations?"}),
        ("At a temperature of {T}, K_p = {K_p} for an equilibrium with {n_r} gas molecules on the"
         " reactant side and {n_p} gas molecules on the product side.",
         {"K_c": "Find K_c."}),
    ),
    "propane-air": (
        ("A camping heater burns {m} of propane. The air holds {o} of oxygen per litre.",
         {"V": "What volume of air is needed for complete combustion?",
          "m_O": "What mass of oxygen is needed?"}),
        ("For the complete combustion of {m} of propane in air that contains {o} of oxygen,",
         {"V": "how many litres of air are required?"}),
    ),
    "pulled-crate": (
        ("A worker pulls a box of {m} across the floor with a rope. The pull in the rope is {F} and"
         " the rope makes an angle of {phi} with the floor. The coefficient of static friction is"
         " {mu_s}, that of kinetic friction {mu_k}.",
         {"a": "What is the acceleration of the box?",
          "f": "How large is the friction force?",
          "N": "What normal force does the floor exert?"}),
        ("A crate (m = {m}) rests on a floor with mu_s = {mu_s} and mu_k = {mu_k}. Someone pulls"
         " with a force of F = {F} on a rope at {phi} above the floor. g = 9.81 m/s².",
         {"f": "Find the friction force on the crate."}),
    ),
    "resistor-bridge": (
        ("A bridge is fed with a supply voltage of {V_s}. Left arm: R_1 = {R_1} from the supply to"
         " node L and R_2 = {R_2} from node L to the return. Right arm: R_3 = {R_3} from the supply"
         " to node R and R_4 = {R_4} from node R to the return. The galvanometer between the nodes"
         " has a resistance of R_g = {R_g}.",
         {"I_g": "What current flows through the galvanometer?",
          "V_L": "What is the potential of node L?",
          "I": "What current is drawn from the supply?"}),
    ),
    "rods-in-series": (
        ("Two rods of equal length {L} and diameter {d} are joined end to end. The conductivity of"
         " the rod at the hot end is {k_1}, the other one has {k_2}. The hot end is kept at {T_h},"
         " the cold end at {T_c}.",
         {"P": "How much heat flows through the rods per second?",
          "T": "What is the temperature of the joint?"}),
        ("Heat is conducted through two bars in series, each {L} long and {d} in diameter. Hot end:"
         " {T_h}, conductivity {k_1}. Cold end: {T_c}, conductivity {k_2}.",
         {"P": "Calculate the heat flow."}),
    ),
    "rough-slope-pulley": (
        ("A sledge of {m_1} on a rough slope with an angle of {theta} is tied by a cord over a"
         " pulley to a hanging counterweight of {m_2}. The pulley is a disc with a mass of {M}. The"
         " coefficient of static friction is {mu_s}, the coefficient of kinetic friction {mu_k}."
         " The system starts from rest.",
         {"a": "What is the acceleration of the sledge?",
          "T_2": "What is the tension in the hanging part of the cord?",
          "f": "What is the friction force on the sledge?"}),
    ),
    "series-resonance": (
        ("A resistor of {R}, a coil of {L} and a capacitor of {C} are connected in series to an AC"
         " source with an amplitude of {V}.",
         {"f": "At what frequency does the circuit resonate?",
          "I": "What is the current amplitude at resonance?",
          "Q": "What is the quality factor of the circuit?"}),
        ("Series RLC circuit: R = {R}, L = {L}, C = {C}, source amplitude V = {V}.",
         {"w": "Find the angular resonance frequency.",
          "P": "Find the average power at resonance."}),
    ),
    "speeding-up": (
        ("A train moving at {v_0} accelerates uniformly at {a} for {t}.",
         {"x": "How far does it travel in this time?",
          "v": "How fast is it going at the end?"}),
        ("A cyclist has a speed of {v_0} at the start of a hill and then speeds up with an"
         " acceleration of {a} during {t}.",
         {"v": "What is the speed at the end?",
          "x": "What distance is covered?"}),
    ),
    "steady-climb": (
        ("A glider tow climbs steadily in a straight line at {theta} to the horizontal and gains"
         " {h} of height in {t}.",
         {"v": "What is its average speed along its path?",
          "s": "How long is the path?"}),
        ("A cable car rises {h} in {t} on a straight track that makes an angle of {theta} with the"
         " horizontal.",
         {"x": "What horizontal distance does it cover?",
          "v": "Find the average speed along the track."}),
    ),
    "stepped-drum": (
        ("A stepped drum consists of a small disc (radius {r}, mass {M_r}) and a large disc (radius"
         " {R}, mass {M_R}) fixed together. A left load of {m_a} hangs from a cord wound on the"
         " small disc, a right load of {m_b} from a cord on the large disc.",
         {"alpha": "What is the angular acceleration of the drum?",
          "T_a": "What is the tension in the left cord?"}),
    ),
    "string-beats": (
        ("Two strings, each {L} long with a linear density of {mu}, are fixed at both ends. One has"
         " a tension of {F_1}, the other one is tighter with a tension of {F_2}. Both vibrate in"
         " harmonic number {n}.",
         {"f_b": "What beat frequency is heard?",
          "f_1": "What is the frequency of the slack string?"}),
        ("Each of two strings has a length of {L} and a mass per length of {mu}. The slack string"
         " has a tension of {F_1}, the tight string a tension of {F_2}; both sound in the harmonic"
         " n = {n}.",
         {"f_b": "Calculate the frequency of the beats."}),
    ),
    "string-wave": (
        ("A taut string with a linear density of {mu} is pulled with a tension of {F}. A wave with a"
         " wavelength of {L} runs along it.",
         {"v": "How fast does the wave travel?",
          "f": "What is its frequency?",
          "w": "What is its angular frequency?"}),
        ("Waves on a rope: tension {F}, mass per length {mu}, wavelength {L}.",
         {"k": "Find the wave number.",
          "v": "Find the wave speed."}),
    ),
    "temperature-coefficient": (
        ("When a wire is warmed from {T_1} to {T_2}, its resistance increases by {p}.",
         {"a": "What is its temperature coefficient of resistance?"}),
        ("A heating coil's resistance goes up by {p} as the temperature goes up from {T_1} at first"
         " to {T_2} at the end.",
         {"a": "Determine the temperature coefficient at the first temperature.",
          "T_d": "At which temperature would the resistance be double?"}),
    ),
    "terminal-speed": (
        ("A parachutist with a mass of {m} falls through air with a density of {rho}. Her"
         " drag coefficient is {C} and the area she turns to the air is {A}.",
         {"v": "What terminal velocity does she reach?",
          "D": "What is the drag at half of that speed?"}),
        ("An object of mass m = {m}, cross-sectional area A = {A} and drag coefficient C = {C} falls"
         " in air with a density of {rho}; g = 9.81 m/s².",
         {"v": "Calculate its terminal speed."}),
    ),
    "thermometer-bore": (
        ("A thermometer has a bulb with a volume of {V} and a bore with a diameter of {d}. The"
         " liquid in it has a volume expansion of {b}, its glass {b_g}. The temperature rises by"
         " {T}.",
         {"x": "How far does the liquid rise?",
          "x_0": "How far would the liquid rise if the glass did not expand?"}),
        ("Thermometer: bulb volume {V}, bore diameter {d}, volume expansion of the liquid {b},"
         " volume expansion of the glass {b_g}, rise in temperature {T}.",
         {"x": "Calculate the rise of the liquid."}),
    ),
    "thin-lens": (
        ("An object that is {h_o} tall stands {d_o} in front of a thin lens with a focal length of"
         " {f}.",
         {"d_i": "At what distance from the lens is the image formed?",
          "h_i": "How tall is the image?"}),
        ("A lens has f = {f}. An object with a height of {h_o} is placed at an object distance of"
         " {d_o}.",
         {"d_i": "Find the image distance.",
          "m": "What is the size of the magnification?"}),
    ),
    "three-branches": (
        ("Three branches connect the nodes A and B. The first holds a cell with an electromotive"
         " force of E_1 = {E_1} and a resistance of R_1 = {R_1}, the second one with E_2 = {E_2} and"
         " R_2 = {R_2}, the third one with E_3 = {E_3} and R_3 = {R_3}.",
         {"I_1": "What is the current in the first branch?",
          "I_3": "What is the current in the third branch?",
          "V": "What is the voltage between A and B?"}),
    ),
    "two-glasses": (
        ("A red beam meets a first glass with an index of {n_1} at an angle of incidence of {t_1}. A"
         " blue beam meets a second glass with an index of {n_2}. The two are refracted at the same"
         " angle.",
         {"t_2": "What is the angle of incidence on the second glass?",
          "r": "What is the angle of refraction?"}),
    ),
    "two-means": (
        ("The first kind of battery lasted {x}, the second kind lasted {y}. Test at a significance"
         " level of {level} whether the means differ.",
         {"se": "What is the standard error of the difference of the means?",
          "t": "What is the value of the test statistic?"}),
    ),
    "wagon-push": (
        ("A locomotive starts a wagon of {m} from rest on a level track with a net force of {F}.",
         {"a": "What is the acceleration of the wagon?"}),
        ("A net force of {F} acts on a shopping cart with a mass of {m}.",
         {"a": "Find its acceleration."}),
    ),
    "weak-acid": (
        ("{V_a} of a stock solution of a weak acid with a concentration of {c_a} is diluted with"
         " water to {V}. The acid constant is {K_a}.",
         {"pH": "What is the pH of the diluted solution?",
          "beta": "What is the degree of ionisation?"}),
        ("A chemist dilutes {V_a} of {c_a} weak acid (K_a = {K_a}) to a volume of {V}.",
         {"pH": "Calculate the pH after dilution.",
          "h": "Calculate the concentration of hydrogen ions."}),
    ),
}  # fmt: skip
