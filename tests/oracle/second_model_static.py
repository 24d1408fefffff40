"""The held pedal by hand: a balance of forces and a budget of volumes, without time. Plain arithmetic.

A foot that comes slowly and stays: cups slide forward, linings, hoses and seals have given all that they give slowly,
no flow anywhere, and the ports were shut so gently that every point still stood at its pressure at rest.
"""

import math

from second_model_parts import ATMOSPHERE, CONTACT, Fluid, Hose, Progressive, disc


def solved(function, low, high, halvings=50):
    """Where a rising function is zero."""
    for _ in range(halvings):
        middle = (low + high) / 2
        low, high = (middle, high) if function(middle) < 0 else (low, middle)
    return (low + high) / 2


class HeldPedal:
    def __init__(self, fields):
        self.of, self.fluid = fields.of, Fluid(fields)
        self.area = disc(fields.of("master")("bore"))
        self.pedal, self.master = fields.of("pedal"), fields.of("master")
        height = self.master("height")
        self.rest = self.fluid.head(self.master("reservoir_height") - height)
        self.to_valve = self.fluid.head(height - fields.of("hold_off")("height"))
        self.to_caliper = self.fluid.head(fields.of("hold_off")("height") - fields.of("front_left")("height"))
        self.to_drum = self.fluid.head(height - fields.of("rear_left")("height"))

    # what each part takes at a pressure, from rest -----------------------------------------------------------------

    def caliper(self, p):
        of = self.of("front_left")
        pad = Progressive(of("pad_first"), of("pad_final"), of("pad_take_up"))
        area, soft = disc(of("piston")), of("seal_stiffness") * (1 - of("seal_branch"))
        shift = of("seal_shift") * (1 - math.exp(-p / of("seal_shift_pressure")))

        def give(force):  # of one pad
            return solved(lambda d: pad.force(d) - force, 0.0, 2e-3) if force > 0 else 0.0

        free = shift + p * area / soft  # until the pads touch the seal alone holds the piston
        if free < of("clearance"):
            return area * free + of("stretch") * p

        def excess(x):
            seal = min(soft * (x - shift), of("seal_grip") + of("seal_grip_rise") * p)
            inner = p * area - seal  # the housing drags on its pins and keeps their friction from the outer pad
            return x - of("clearance") - (1 + of("pad_creep")) * (give(inner) + give(inner - of("pin_friction")))
        return area * solved(excess, 0.0, 5e-3) + of("stretch") * p

    def drum(self, p):
        of = self.of("rear_left")
        lining = Progressive(of("lining_first"), of("lining_final"), of("lining_take_up"))
        area = disc(of("cylinder"))
        spring = of("push_out") * area * (1 - of("cup_friction_rise")) - of("cup_friction")

        def excess(x):
            stop = max(0.0, spring - of("stop_stiffness") * x)
            push = spring + of("spring_rate") * x + lining.force(x - of("clearance")) - stop
            return push + of("cup_friction") + of("cup_friction_rise") * p * area - p * area
        return 2 * area * solved(excess, 0.0, 5e-3) + of("stretch") * p

    def line(self, name, p):
        """Wall and fluid of a pipe or hose."""
        of = self.of(name)
        if name.endswith("hose"):
            return (1 + of("creep")) * of("length") * Hose.wall(p) + self.squeezed(disc(of("bore")) * of("length"), p)
        outer = of("outer_diameter") / 2
        inner = outer - of("wall_thickness")
        room = math.pi * inner**2 * of("length")
        wall = room * 2 * p / 206e9 * ((outer**2 + inner**2) / (outer**2 - inner**2) + 0.3)
        return wall + self.squeezed(room, p)

    def squeezed(self, room, p):
        """Fluid of this volume with its free air gets that much smaller."""
        air = self.fluid.free_air * room
        return (room - air) * (1 - self.fluid.room(p)) + air * p / (p + ATMOSPHERE)

    def chamber(self, stroke, p):
        room = self.master("dead_volume") + self.area * self.master(stroke)
        return self.squeezed(room, p) + self.master("body_stretch") * p

    def behind_the_valve(self, p):
        """Outlet pressure of the hold-off valve."""
        of = self.of("hold_off")
        a1 = disc(of("plate_diameter"))
        a2 = a1 * (of("full") - of("open")) / (of("full") - of("shut"))
        return min(p, max(of("shut"), (a1 * p - of("full") * (a1 - a2)) / a2))

    def front_filled(self, p):
        valve, inlet = self.of("hold_off"), p + self.to_valve
        outlet = self.behind_the_valve(inlet)
        wheel = outlet + self.to_caliper
        filled = self.chamber("primary_stroke", p) + self.line("front_pipe", p) + self.squeezed(1.5e-6, p)
        filled += disc(valve("rod_diameter")) * valve("out_travel") if inlet > valve("shut") else 0.0
        filled += sum(self.line(n, outlet) for n in ("left_pipe", "right_pipe", "left_hose", "right_hose"))
        filled += self.squeezed(1.5e-6 + 2 * self.of("front_left")("dead_volume"), wheel)
        return filled + 2 * self.caliper(wheel)

    def rear_filled(self, p):
        line = max(0.0, p - self.of("rear_residual")("crack"))
        wheel = line + self.to_drum
        filled = self.chamber("secondary_stroke", p)
        filled += sum(self.line(n, line) for n in ("rear_pipe", "rear_hose", "rear_left_pipe", "rear_right_pipe"))
        filled += self.squeezed(2 * self.of("rear_left")("dead_volume"), wheel)
        return filled + 2 * self.drum(wheel)

    def front(self, p):
        """What the cylinder has to press into the front circuit from rest to p."""
        return self.front_filled(p) - self.front_filled(self.rest)

    def rear(self, p):
        return self.rear_filled(p) - self.rear_filled(self.rest)

    def lamp_switch(self, difference):
        """What its piston takes from the circuit that is left."""
        of = self.of("switch")
        area = disc(of("bore"))
        preload = of("trip") * area - of("seal_friction") - of("rate") * of("contact_travel")
        travel = (difference * area - of("seal_friction") - preload) / of("rate")
        return area * min(max(travel, 0.0), of("end_travel"))

    # the pedal -----------------------------------------------------------------------------------------------------

    def cups(self, p):
        return self.master("cup_friction") + self.master("cup_friction_rise") * p * self.area

    def held(self, foot, lost=None):
        """(primary pressure, secondary pressure, pedal travel) under a foot force, perhaps with a circuit lost."""
        p1, p2, travel = self.balanced(foot, lost)
        floor = self.pedal("floor")
        if travel > floor:  # which bears what the foot gives beyond
            foot = solved(lambda force: self.balanced(force, lost)[2] - floor, 0.0, foot, 20)
            p1, p2, travel = self.balanced(foot, lost)
        return p1, p2, travel

    def balanced(self, foot, lost):
        of, area = self.master, self.area
        rod = self.pedal("ratio") * (foot - self.pedal("return_force"))
        s1, k1, s2, k2 = (of(n) for n in ("primary_spring", "primary_rate", "secondary_spring", "secondary_rate"))
        p1 = p2 = 0.0
        x2 = x1 = port = of("port_travel")
        for _ in range(40):  # springs, friction and volumes depend on where the balance lies
            if lost == "primary":  # the pistons meet, and the rod works the secondary
                x1 = x2 + of("primary_stroke") + (rod - s1 - k1 * of("primary_stroke") - self.cups(0)) / CONTACT
                p2 = max(0.0, (rod - self.cups(0) - self.cups(p2) - s2 - k2 * x2) / area)
                x2 += 0.4 * (port + (self.rear(p2) + self.lamp_switch(p2)) / area - x2)
            elif lost == "secondary":  # the secondary piston stands at the end of the bore
                p1 = max(0.0, (rod - self.cups(p1) - s1 - k1 * (x1 - x2)) / area)
                x2 = of("secondary_stroke") + (p1 * area + s1 - s2 - k2 * x2 - self.cups(0)) / CONTACT
                x1 += 0.4 * (x2 + (self.front(p1) + self.lamp_switch(p1)) / area - x1)
            else:
                spring = s1 + k1 * (x1 - x2)
                p1 = max(0.0, (rod - self.cups(p1) - spring) / area)
                p2 = max(0.0, p1 + (spring - s2 - k2 * x2 - self.cups(p2)) / area)
                x2 = port + self.rear(p2) / area
                x1 += 0.4 * (x2 + self.front(p1) / area - x1)
        arm = x1 + self.pedal("free_play") / self.pedal("ratio") + rod / CONTACT
        return p1, p2, self.pedal("ratio") * arm + self.pedal("flex") * foot
