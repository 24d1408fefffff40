"""The parts of the second model, each a law written from its page in docs/parts, for second_model_car.py.

SI units: m, N, Pa gauge, m3, s. Flow is positive away from the cylinder. The head of second_model.py says what this is.
"""

import math
import re

import yaml

ATMOSPHERE = 101325.0
GRAVITY = 9.80665
CONTACT = 3e7  # N/m, metal on metal

UNITS = {
    "": 1.0, "1": 1.0, "m": 1.0, "mm": 1e-3, "mm2": 1e-6, "cm3": 1e-6, "N": 1.0, "N/mm": 1e3, "mm/N": 1e-3,
    "N s/m": 1.0, "s": 1.0, "bar": 1e5, "kPa": 1e3, "MPa": 1e6, "cm3/MPa": 1e-12, "kg/m3": 1.0, "mm2/s": 1e-6,
    "1/K": 1.0, "%": 1e-2,
}


def quantity(value):
    """A field of the hardware file in SI. Words, and units that this model does not need, stay as they are."""
    if not isinstance(value, str):
        return value
    found = re.fullmatch(r"\s*([-+0-9.eE]+)\s*(.*?)\s*", value)
    return float(found[1]) * UNITS[found[2]] if found and found[2] in UNITS else value


class Fields:
    """Every field: what the hardware file gives, else the default that the summary of a run lists as assumed."""

    def __init__(self, hardware_file, summary):
        self.values = {}
        for item in summary["assumed"]:
            known = isinstance(item["value"], (int, float)) and item["unit"] in UNITS
            self.values[item["path"]] = item["value"] * UNITS[item["unit"]] if known else item["value"]
        with open(hardware_file, encoding="utf-8") as file:
            hardware = yaml.safe_load(file)
        for part, given in dict(hardware["parts"], fluid=hardware["fluid"]).items():
            for name, value in given.items():
                self.values[f"{part}.{name}"] = quantity(value)

    def of(self, part):
        return lambda name: self.values[f"{part}.{name}"]


def disc(diameter):
    return math.pi / 4 * diameter**2


def above(x):
    return x if x > 0.0 else 0.0


def beyond(force, limit):
    """What a friction force has too much, signed; its anchor is dragged along in proportion."""
    return above(force - limit) - above(-force - limit)


class Progressive:
    """Pad or lining: soft at first touch, stiff when the take-up is used."""

    def __init__(self, first, final, take_up):
        self.final, self.take_up, self.scale = final, take_up, take_up / (1 - first / final)

    def force(self, d):
        return self.final * (d - self.take_up * (1 - math.exp(-d / self.scale))) if d > 0 else 0.0


class Fluid:
    def __init__(self, fields):
        of = fields.of("fluid")
        self.density, self.free_air, self.slope = of("density"), of("free_air"), of("modulus_slope")
        self.modulus = of("bulk_modulus") * math.exp(-0.005 * (20.0 - 25.0))  # stated for 25 C

        def fold(nu):  # form of ASTM D341: straight over log T
            return math.log10(math.log10(nu * 1e6 + 0.7))
        cold, hot, here = (math.log10(273.15 + c) for c in (-40, 100, 20))
        fall = (fold(of("viscosity_cold")) - fold(of("viscosity_hot"))) / (hot - cold)
        self.kinematic = (10 ** (10 ** (fold(of("viscosity_cold")) - fall * (here - cold))) - 0.7) * 1e-6
        self.dynamic = self.kinematic * self.density

    def room(self, p):
        """Volume of what fills 1 at 1 atm: the power law, where the library has a rational form of it."""
        return (1.0 + self.slope * p / self.modulus) ** (-1.0 / self.slope)

    def tangent(self, p):
        return self.modulus + self.slope * p

    def hole(self, area, drop):
        """Flow through a hole of this area, 1 mm long, signed like the drop: |drop| = a Q + b Q^2 solved for Q."""
        if area < 1e-18 or drop == 0.0:
            return 0.0
        radius = math.sqrt(area / math.pi)
        a = 3 * self.dynamic / radius**3 + 8 * self.dynamic * 1e-3 / (math.pi * radius**4)
        b = self.density / (2 * (0.65 * area) ** 2)
        size = abs(drop)
        return math.copysign(2 * size / (a + math.sqrt(a * a + 4 * b * size)), drop)

    def head(self, height):
        return self.density * GRAVITY * height


class PedalAndCylinder:
    """States: arm, primary piston, its cups' force, secondary piston, its cups' force."""

    def __init__(self, fields, fluid):
        pedal, master, self.fluid = fields.of("pedal"), fields.of("master"), fluid
        self.ratio, self.flex = pedal("ratio"), pedal("flex")
        self.play = pedal("free_play") / self.ratio
        self.pull, self.arm_damping = pedal("return_force"), pedal("damping")
        self.area, self.damping = disc(master("bore")), master("damping")
        self.stroke1, self.stroke2 = master("primary_stroke"), master("secondary_stroke")
        self.s1, self.k1 = master("primary_spring"), master("primary_rate")
        self.s2, self.k2 = master("secondary_spring"), master("secondary_rate")
        self.cup, self.rise = master("cup_friction"), master("cup_friction_rise")
        self.stiffness = master("cup_stiffness")
        self.port_travel, self.port = master("port_travel"), master("port")
        self.lip, self.past_cup = master("lip_opening"), disc(master("recuperation_hole"))
        self.reservoir = fluid.head(master("reservoir_height") - master("height"))

    def port_area(self, left):
        """Segment of the round port that its lip, `left` away from having covered it, leaves open."""
        if left <= 0:
            return 0.0
        if left >= self.port:
            return disc(self.port)
        r = self.port / 2
        return r * r * math.acos((r - left) / r) - (r - left) * math.sqrt(left * (self.port - left))

    def rates(self, state, foot, p1, p2):
        arm, x1, f1, x2, f2 = state
        rod = CONTACT * above(arm - x1 - self.play)
        spring = self.s1 + self.k1 * (x1 - x2) - CONTACT * above(x2 - x1)
        meet = CONTACT * above(x1 - x2 - self.stroke1)
        arm_speed = (self.ratio * (foot - self.pull) - rod + CONTACT * above(-arm)) / self.arm_damping
        v1 = (rod - p1 * self.area - spring - f1 - meet + CONTACT * above(-x1)) / self.damping
        v2 = ((p1 - p2) * self.area + spring + meet - f2 - self.s2 - self.k2 * x2
              - CONTACT * above(x2 - self.stroke2)) / self.damping
        grip1, grip2 = (self.cup + self.rise * above(p) * self.area for p in (p1, p2))
        return (arm_speed, v1, self.stiffness * (v1 - beyond(f1, grip1) / self.damping),
                v2, self.stiffness * (v2 - beyond(f2, grip2) / self.damping))

    def from_reservoir(self, x, p):
        drop = self.reservoir - p
        flow = self.fluid.hole(self.port_area(self.port_travel - x), drop)
        lack = drop - self.lip
        return flow + self.fluid.hole(self.past_cup * lack / (lack + 5e3), drop) if lack > 0 else flow


class ResidualValve:
    side = 0.1e-6  # m3 on each side of it

    def __init__(self, fields, fluid, name):
        of, self.fluid = fields.of(name), fluid
        self.fitted = of("fitted") in (True, "yes")
        self.passage, self.crack, self.holding = disc(of("passage")), of("crack"), of("holding")
        # not fitted: 10 mm of drilling, laminar
        self.drilling = 128 * fluid.dynamic * 10e-3 / (math.pi * of("passage") ** 4)

    def flow(self, drop):
        if not self.fitted:
            return drop / self.drilling
        if drop > self.crack:
            surplus = drop - self.crack
            return self.fluid.hole(self.passage * surplus / (surplus + 5e3), drop)
        surplus = -drop - self.holding
        return self.fluid.hole(self.passage * surplus / (surplus + 20e3), drop) if surplus > 0 else 0.0


class HoldOffValve:
    """States: travel of the rod, force of its seal."""

    side = 1.5e-6
    seal_stiffness = 3e4

    def __init__(self, fields, fluid):
        of, self.fluid = fields.of("hold_off"), fluid
        self.rod = disc(of("rod_diameter"))
        self.rate, self.friction, self.damping = of("rod_rate"), of("rod_friction"), of("damping")
        self.shut_travel, self.out_travel = of("shut_travel"), of("out_travel")
        self.spring = of("shut") * self.rod - self.rate * self.shut_travel - self.friction
        self.a1 = disc(of("plate_diameter"))
        self.a2 = self.a1 * (of("full") - of("open")) / (of("full") - of("shut"))
        self.plate_spring = of("full") * (self.a1 - self.a2)
        self.full_surplus = of("plate_rate") * of("plate_lift")
        self.plate_open = math.pi * of("plate_diameter") * of("plate_lift")
        self.rim, self.seat, self.crack = math.pi * of("check_seat"), disc(of("check_seat")), of("crack")

    def rates(self, state, inlet):
        x, seal = state
        v = (inlet * self.rod - self.spring - self.rate * x - seal + CONTACT * above(-x)
             - CONTACT * above(x - self.out_travel)) / self.damping
        return v, self.seal_stiffness * (v - beyond(seal, self.friction) / self.damping)

    def surplus(self, inlet, outlet):
        return self.a1 * inlet - self.plate_spring - self.a2 * outlet

    def flow(self, x, inlet, outlet):
        drop = inlet - outlet
        flow = self.fluid.hole(self.rim * above(self.shut_travel - x), drop)
        surplus = self.surplus(inlet, outlet)
        if surplus > 0:
            flow += self.fluid.hole(self.plate_open * surplus / (surplus + self.full_surplus), drop)
        back = -drop - self.crack
        if back > 0:
            flow += self.fluid.hole(self.seat * back / (back + 10e3), drop)
        return flow


class Caliper:
    """States: piston, where the seal grips it, relaxed part of the seal, housing, force of the pins, creep of a pad."""

    def __init__(self, fields, name):
        of = fields.of(name)
        self.area, self.damping, self.half = disc(of("piston")), of("damping"), of("clearance") / 2
        self.stiffness, self.branch, self.relaxation = of("seal_stiffness"), of("seal_branch"), of("seal_relaxation")
        self.grip, self.grip_rise = of("seal_grip"), of("seal_grip_rise")
        self.shift_most, self.shift_pressure = of("seal_shift"), of("seal_shift_pressure")
        self.pad = Progressive(of("pad_first"), of("pad_final"), of("pad_take_up"))
        self.creep, self.creep_time = of("pad_creep"), of("pad_creep_time")
        self.pin, self.pin_stiffness = of("pin_friction"), of("pin_stiffness")
        self.radius, self.friction = of("radius"), of("friction")
        self.dead, self.stretch, self.height = of("dead_volume"), of("stretch"), of("height")

    def shift(self, p):
        return self.shift_most * (1 - math.exp(-p / self.shift_pressure))

    def pressed(self, state):
        """How far the disc presses the inner and the outer pad; below zero: room."""
        x, _, _, housing, _, creep = state
        return x - housing - self.half - creep, housing - self.half - creep

    def rates(self, state, p):
        x, slip, lag, _, pins, creep = state
        z = x - slip - self.shift(p)
        seal = self.stiffness * ((1 - self.branch) * z + self.branch * (z - lag))
        d_inner, d_outer = self.pressed(state)
        inner, outer = self.pad.force(d_inner), self.pad.force(d_outer)
        v = (p * self.area - seal - inner) / self.damping
        slide = (inner - outer - pins) / self.damping
        return (v, beyond(seal, self.grip + self.grip_rise * p) / self.damping, (z - lag) / self.relaxation,
                slide, self.pin_stiffness * (slide - beyond(pins, self.pin) / self.damping),
                (self.creep * (above(d_inner) + above(d_outer)) / 2 - creep) / self.creep_time)


class Drum:
    """States: each piston with its shoe, force of each cup."""

    def __init__(self, fields, name):
        of = fields.of(name)
        self.area, self.damping, self.gap = disc(of("cylinder")), of("damping"), of("clearance")
        self.cup, self.rise, self.stiffness = of("cup_friction"), of("cup_friction_rise"), of("cup_stiffness")
        self.spring = of("push_out") * self.area * (1 - self.rise) - self.cup
        self.rate, self.stop = of("spring_rate"), of("stop_stiffness")
        self.lining = Progressive(of("lining_first"), of("lining_final"), of("lining_take_up"))
        self.dead, self.stretch, self.height = of("dead_volume"), of("stretch"), of("height")
        self.lip_bears, self.factor, self.radius = of("lip_bears"), of("shoe_factor"), of("drum_radius")

    def push(self, x):
        stop = self.stop * above(self.spring / self.stop - x)
        return self.spring + self.rate * x + self.lining.force(x - self.gap) - stop

    def rates(self, state, p):
        x, cup = state
        v = (p * self.area - cup - self.push(x)) / self.damping
        grip = self.cup + self.rise * above(p) * self.area
        return v, self.stiffness * (v - beyond(cup, grip) / self.damping)


class Hose:
    """Room that one metre of wall gives."""

    @staticmethod
    def wall(p):
        return 0.09e-12 * p + 0.5e-6 * p / (p + 3e6)

    @staticmethod
    def wall_rise(p):
        return 0.09e-12 + 0.5e-6 * 3e6 / (p + 3e6) ** 2


class Column:
    """The fluid in a pipe or hose, and what its steel wall gives."""

    def __init__(self, fields, fluid, name):
        of = fields.of(name)
        self.name, self.length, self.is_hose = name, of("length"), name.endswith("hose")
        self.wall = 0.0
        if self.is_hose:
            self.bore = of("bore")
            self.creep, self.creep_time = of("creep"), of("creep_time")
        else:
            outer = of("outer_diameter") / 2
            inner = outer - of("wall_thickness")
            self.bore = 2 * inner
            self.wall = 2 / 206e9 * ((outer**2 + inner**2) / (outer**2 - inner**2) + 0.3)  # per volume, Lame
        self.volume = disc(self.bore) * self.length
        self.wall *= self.volume
        self.mass = fluid.density * self.length / disc(self.bore)
        self.laminar = 128 * fluid.dynamic * self.length / (math.pi * self.bore**4)
        self.unsteady = 8.1 / 2 * self.laminar
        self.memory = 200 * fluid.kinematic / (self.bore / 2) ** 2
        self.reynolds = 4 / (math.pi * self.bore * fluid.kinematic)  # per flow
