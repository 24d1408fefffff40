"""The Marten of the second model: its points, what joins them, and one run of it.

Every point is a pressure p with  give(p) p' = flow in - what pistons and slow walls take;  content is not a state.
"""

import math

import numpy
from scipy.integrate import solve_ivp

from second_model_parts import (ATMOSPHERE, Caliper, Column, Drum, Fluid, HoldOffValve, Hose, PedalAndCylinder,
                                ResidualValve, above, disc)

COLUMNS = (("front_pipe", "front", "inlet"), ("left_pipe", "outlet", "left"), ("right_pipe", "outlet", "right"),
           ("left_hose", "left", "front_left"), ("right_hose", "right", "front_right"), ("rear_pipe", "rear", "axle"),
           ("rear_hose", "axle", "tee"), ("rear_left_pipe", "tee", "rear_left"),
           ("rear_right_pipe", "tee", "rear_right"))
FRONT, REAR = ("front_left", "front_right"), ("rear_left", "rear_right")


class Car:
    def __init__(self, fields):
        self.fluid = fluid = Fluid(fields)
        self.cylinder = cylinder = PedalAndCylinder(fields, fluid)
        self.valve = HoldOffValve(fields, fluid)
        self.front_residual = ResidualValve(fields, fluid, "front_residual")
        self.rear_residual = ResidualValve(fields, fluid, "rear_residual")
        self.calipers = {name: Caliper(fields, name) for name in FRONT}
        self.drums = {name: Drum(fields, name) for name in REAR}
        self.columns = [Column(fields, fluid, name) for name, _, _ in COLUMNS]

        master, switch = fields.of("master"), fields.of("switch")
        high, low = master("height"), fields.of("hold_off")("height")
        switch_side = 2 * switch("end_travel") * disc(switch("bore"))
        # name: volume with the pistons home, height; half of each pipe and hose comes on top
        points = {
            "primary": [master("dead_volume") + cylinder.area * cylinder.stroke1 + ResidualValve.side, high],
            "secondary": [master("dead_volume") + cylinder.area * cylinder.stroke2 + ResidualValve.side, high],
            "front": [ResidualValve.side + switch_side, high], "rear": [ResidualValve.side + switch_side, high],
            "inlet": [HoldOffValve.side, low], "outlet": [HoldOffValve.side, low],
            "left": [0.0, low], "right": [0.0, low], "axle": [0.0, high], "tee": [0.0, high],
        }
        points.update({name: [part.dead, part.height] for name, part in {**self.calipers, **self.drums}.items()})
        self.names = list(points)
        self.at = {name: i for i, name in enumerate(self.names)}
        self.heights = [height for _, height in points.values()]
        self.wall = [0.0] * len(points)  # m3/Pa
        self.hose = [0.0] * len(points)  # metres whose half ends here
        for name in ("primary", "secondary"):
            self.wall[self.at[name]] += master("body_stretch")
        for name, part in {**self.calipers, **self.drums}.items():
            self.wall[self.at[name]] += part.stretch
        self.ends = []
        for column, (_, start, end) in zip(self.columns, COLUMNS):
            self.ends.append((self.at[start], self.at[end]))
            for name in (start, end):
                points[name][0] += column.volume / 2
                self.wall[self.at[name]] += column.wall / 2
                self.hose[self.at[name]] += column.length / 2 if column.is_hose else 0.0
        self.heads = [fluid.head(self.heights[a] - self.heights[b]) for a, b in self.ends]
        self.volumes = [volume for volume, _ in points.values()]
        self.hose_points = [i for i, length in enumerate(self.hose) if length > 0]
        self.gas = [fluid.free_air * volume for volume in self.volumes]  # at 1 atm, at the start

        # states, with the error that one step may make in each
        layout = [(name, 1e-9) for name in ("arm", "x1")] + [("f1", 1e-2), ("x2", 1e-9), ("f2", 1e-2)]
        layout += [("rod", 1e-9), ("rod_seal", 1e-2)]
        for name in FRONT:
            layout += [(f"{name}.{s}", 1e-2 if s == "pins" else 1e-9)
                       for s in ("piston", "slip", "lag", "housing", "pins", "creep")]
        for name in REAR:
            layout += [(f"{name}.shoe", 1e-9), (f"{name}.cup", 1e-2)]
        layout += [(f"{self.names[i]}.hose", 1e-13) for i in self.hose_points]
        self.first_pressure = len(layout)
        layout += [(f"{name}.pressure", 10.0) for name in self.names]
        self.first_flow = len(layout)
        layout += [(f"{c.name}.{s}", 1e-9) for s in ("flow", "memory") for c in self.columns]
        self.first_bubbles = len(layout)
        layout += [(f"{name}.bubbles", 1e-13) for name in self.names]
        self.index = {name: i for i, (name, _) in enumerate(layout)}
        self.tolerance = numpy.array([error for _, error in layout])

    def start(self):
        """At rest: pistons home, every point at the pressure of the fluid above it."""
        y = numpy.zeros(len(self.tolerance))
        for i, height in enumerate(self.heights):
            y[self.first_pressure + i] = self.cylinder.reservoir + self.fluid.head(self.heights[0] - height)
            y[self.first_bubbles + i] = self.gas[i]
        return y

    def give(self, i, p, moved, gas):
        """How much point i takes per pascal: liquid, bubbles, walls."""
        walls, room = self.wall[i], self.volumes[i] + moved + self.wall[i] * p
        if self.hose[i] > 0:
            walls += self.hose[i] * Hose.wall_rise(p)
            room += self.hose[i] * Hose.wall(p)
        bubbles = gas / atmospheres(p)
        absolute = atmospheres(p) * ATMOSPHERE
        return walls + (room - bubbles) / self.fluid.tangent(p) + bubbles / absolute

    def rates(self, foot):
        """The function (t, y) -> y' for a foot given as points of time and force."""
        at, cylinder, valve, columns = self.at, self.cylinder, self.valve, self.columns
        first_pressure, first_flow, first_bubbles = self.first_pressure, self.first_flow, self.first_bubbles
        count = len(self.names)
        calipers = [(at[n], self.index[n + ".piston"], part) for n, part in self.calipers.items()]
        drums = [(at[n], self.index[n + ".shoe"], part) for n, part in self.drums.items()]
        first_hose = first_pressure - len(self.hose_points)
        hose = next(c for c in columns if c.is_hose)
        force = force_of(foot)

        def rates(t, state):
            y = state.tolist()
            out = [0.0] * len(y)
            p = y[first_pressure:first_flow]
            gas = y[first_bubbles:]
            flow_in, gas_in, moved, swept = ([0.0] * count for _ in range(4))

            one, two, inlet, outlet = at["primary"], at["secondary"], at["inlet"], at["outlet"]
            out[0:5] = cylinder.rates(y[0:5], force(t), p[one], p[two])
            moved[one], moved[two] = cylinder.area * (y[3] - y[1]), -cylinder.area * y[3]
            swept[one], swept[two] = cylinder.area * (out[3] - out[1]), -cylinder.area * out[3]
            out[5:7] = valve.rates(y[5:7], p[inlet])
            moved[inlet], swept[inlet] = valve.rod * y[5], valve.rod * out[5]
            for point, i, part in calipers:
                out[i:i + 6] = part.rates(y[i:i + 6], p[point])
                moved[point], swept[point] = part.area * y[i], part.area * out[i]
            for point, i, part in drums:
                out[i:i + 2] = part.rates(y[i:i + 2], p[point])
                moved[point], swept[point] = 2 * part.area * y[i], 2 * part.area * out[i]
            for i, point in enumerate(self.hose_points, first_hose):
                out[i] = (hose.creep * self.hose[point] * Hose.wall(p[point]) - y[i]) / hose.creep_time
                moved[point] += y[i]
                swept[point] += out[i]

            def pass_on(start, end, flow):
                """Flow takes along the bubbles of where it comes from; fluid of the reservoirs (None) has none."""
                source = start if flow > 0 else end
                bubbles = flow * gas[source] / (self.volumes[source] + moved[source]) if source is not None else 0.0
                if start is not None:
                    flow_in[start] -= flow
                    gas_in[start] -= bubbles
                flow_in[end] += flow
                gas_in[end] += bubbles

            pass_on(None, one, cylinder.from_reservoir(y[1], p[one]))
            pass_on(None, two, cylinder.from_reservoir(y[3], p[two]))
            pass_on(one, at["front"], self.front_residual.flow(p[one] - p[at["front"]]))
            pass_on(two, at["rear"], self.rear_residual.flow(p[two] - p[at["rear"]]))
            pass_on(inlet, outlet, valve.flow(y[5], p[inlet], p[outlet]))
            for k, (column, (start, end)) in enumerate(zip(columns, self.ends)):
                i = first_flow + k
                j = i + len(columns)
                q, lag = y[i], y[i] - y[j]
                pass_on(start, end, q)
                out[i] = (p[start] - p[end] + self.heads[k] - column.laminar * q - column.unsteady * lag) / column.mass
                out[j] = column.memory * lag

            for i in range(count):
                filled = flow_in[i] * self.fluid.room(p[i]) + gas_in[i] / atmospheres(p[i]) - swept[i]
                out[first_pressure + i] = filled / self.give(i, p[i], moved[i], gas[i])
                out[first_bubbles + i] = gas_in[i]
            return out

        return rates

    def jacobian(self, rates):
        """d rates/d y by differences, many columns at once: those that share no row. Which rate depends on which state
        is found at random states; one that is missed costs LSODA iterations, not exactness."""
        count = len(self.tolerance)
        reach = self.tolerance * numpy.where(self.tolerance == 10.0, 2e5, 3e6)  # 2 MPa, 3 mm: all contacts close
        random, depends = numpy.random.default_rng(1), numpy.zeros((count, count), dtype=bool)
        for _ in range(30):
            y = reach * random.uniform(-0.2, 1.0, count)
            base = numpy.array(rates(0.0, y))
            for j in range(count):
                moved = y.copy()
                moved[j] += 1e-3 * reach[j]
                depends[:, j] |= numpy.array(rates(0.0, moved)) != base
        groups, covered = [], []
        for j in range(count):
            k = next((k for k, rows in enumerate(covered) if not (rows & depends[:, j]).any()), len(groups))
            if k == len(groups):
                groups.append([])
                covered.append(numpy.zeros(count, dtype=bool))
            groups[k].append(j)
            covered[k] |= depends[:, j]
        group_of = numpy.empty(count, dtype=int)
        for k, members in enumerate(groups):
            group_of[members] = k
        rows, columns = numpy.nonzero(depends)

        def jacobian(t, y):
            step = 0.1 * self.tolerance + 1e-7 * numpy.abs(y)
            base = numpy.array(rates(t, y))
            changes = numpy.empty((len(groups), count))
            for k, members in enumerate(groups):
                moved = y.copy()
                moved[members] += step[members]
                changes[k] = rates(t, moved)
                changes[k] -= base
            result = numpy.zeros((count, count))
            result[rows, columns] = changes[group_of[columns], rows] / step[columns]
            return result

        return jacobian

    def run(self, foot, end, sample=0.5e-3, error=1e-6):
        """Rests for 5 s with the pedal free, then runs; returns times and the states at these times."""
        rates, y = self.rates(foot), self.start()
        jacobian = self.jacobian(rates)
        times, states = [], []
        knots = [-5.0, 0.0] + [t for t, _ in foot if 0 < t < end] + [end]
        for begin, stop in zip(knots, knots[1:]):
            first = math.ceil(begin / sample - 1e-6)
            wanted = numpy.minimum(numpy.arange(max(first, 0), math.floor(stop / sample + 1e-6) + 1) * sample, stop)
            done = solve_ivp(rates, (begin, stop), y, method="LSODA", jac=jacobian, rtol=error,
                             atol=self.tolerance * error / 1e-5,
                             t_eval=numpy.unique(numpy.append(wanted, stop)))
            if not done.success:
                raise RuntimeError(f"the second model stops at {done.t[-1]:.4f} s: {done.message}")
            y = done.y[:, -1]
            if begin >= 0:
                times.append(done.t[:-1])
                states.append(done.y[:, :-1])
        times, states = numpy.concatenate(times), numpy.concatenate(states, axis=1)
        self.stay_within_the_laws(states)
        return times, states

    def stay_within_the_laws(self, y):
        """What this model leaves out must not have been called for."""
        for name in self.names:
            if y[self.index[name + ".pressure"]].min() < 5e3 - ATMOSPHERE:
                raise RuntimeError(f"{name} falls to a vacuum; this model has no vapour")
        for k, column in enumerate(self.columns):
            reynolds = numpy.abs(y[self.first_flow + k]).max() * column.reynolds
            if reynolds > 2100:
                raise RuntimeError(f"flow in {column.name} is turbulent (Re {reynolds:.0f}); this model is laminar")
        for name, part in self.drums.items():
            if -y[self.index[name + ".pressure"]].min() > part.lip_bears:
                raise RuntimeError(f"air passes the cups of {name}; this model has none")

    def readings(self, y, foot):
        """States as what is recorded, in the units of the traces: bar, mm, N m."""
        found = {}
        for channel, point in (("master.primary", "primary"), ("master.secondary", "secondary"),
                               ("hold_off.inlet", "inlet"), ("hold_off.outlet", "outlet"),
                               ("front_left", "front_left"), ("rear_left", "rear_left")):
            found[channel + ".pressure"] = y[self.index[point + ".pressure"]] * 1e-5
        found["pedal.travel"] = (self.cylinder.ratio * y[0] + self.cylinder.flex * foot) * 1e3
        found["master.primary_travel"] = y[1] * 1e3
        found["master.secondary_travel"] = y[3] * 1e3
        found["hold_off.rod_travel"] = y[5] * 1e3
        caliper, drum = self.calipers["front_left"], self.drums["rear_left"]
        first = self.index["front_left.piston"]
        pressed = numpy.array(caliper.pressed(y[first:first + 6]))
        found["front_left.clearance"] = numpy.maximum(-pressed, 0).sum(axis=0) * 1e3
        clamp = numpy.array([[caliper.pad.force(d) for d in pad] for pad in pressed]).sum(axis=0)
        found["front_left.torque"] = caliper.friction * caliper.radius * clamp
        pressed = y[self.index["rear_left.shoe"]] - drum.gap
        found["rear_left.clearance"] = numpy.maximum(-pressed, 0) * 1e3
        found["rear_left.torque"] = drum.factor * drum.radius * numpy.array([drum.lining.force(d) for d in pressed])
        return found

    def guards(self, y):
        """(part, event when it rises above zero, event when it falls below) -> the quantity."""
        cylinder, valve = self.cylinder, self.valve

        def of(name):
            return y[self.index[name]]

        def pressure(name):
            return of(name + ".pressure")
        lack = {n: cylinder.reservoir - pressure(n) - cylinder.lip for n in ("primary", "secondary")}
        found = {
            ("pedal", "push rod meets the piston", "push rod leaves the piston"): y[0] - y[1] - cylinder.play,
            ("pedal", "pedal is back on its stop", None): -y[0],
            ("master", "primary piston is home", None): -y[1],
            ("master", "primary port shut", "primary port open"): y[1] - cylinder.port_travel,
            ("master", "secondary port shut", "secondary port open"): y[3] - cylinder.port_travel,
            ("hold_off", "check shuts", "rod pushes the check open"): y[5] - valve.shut_travel,
            ("hold_off", "plate opens", "plate shuts"): valve.surplus(pressure("inlet"), pressure("outlet")),
            ("hold_off", "fluid returns past the check", None): pressure("outlet") - pressure("inlet") - valve.crack,
            ("rear_residual", "lets fluid back", "shuts and holds the line"):
                pressure("rear") - pressure("secondary") - self.rear_residual.holding,
        }
        for name, value in lack.items():
            found[("master", f"fluid passes the {name} cup from the reservoir", None)] = value
        for name, part in self.calipers.items():
            first = self.index[name + ".piston"]
            inner, outer = part.pressed(y[first:first + 6])
            found[(name, "inner pad touches the disc", "inner pad leaves the disc")] = inner
            found[(name, "outer pad touches the disc", "outer pad leaves the disc")] = outer
        for name, part in self.drums.items():
            found[(name, "shoes touch the drum", "shoes leave the drum")] = of(name + ".shoe") - part.gap
            found[(name, "shoes leave their stops", "shoes are home")] = of(name + ".shoe") - part.spring / part.stop
        return found

    def events(self, t, y):
        """(time, "part: words") of every crossing that lasts 1 ms, in order."""
        found = []
        for (part, up, down), value in self.guards(y).items():
            on = value > 0
            changes = numpy.flatnonzero(on[1:] != on[:-1])
            moments = [t[i] + (t[i + 1] - t[i]) * value[i] / (value[i] - value[i + 1]) for i in changes]
            told = bool(on[0])
            for k, i in enumerate(changes):
                now = bool(on[i + 1])
                lasts = (moments[k + 1] if k + 1 < len(moments) else math.inf) - moments[k]
                if now != told and lasts > 1e-3:
                    told = now
                    words = up if now else down
                    if words:
                        found.append((moments[k], f"{part}: {words}"))
        return sorted(found)


def atmospheres(p):
    """Absolute pressure; a trial step may go below nothing, and a run that did is refused at its end."""
    return max(p + ATMOSPHERE, 1e3) / ATMOSPHERE


def force_of(foot):
    def force(t):
        for (t0, f0), (t1, f1) in zip(foot, foot[1:]):
            if t < t1:
                return f0 + (f1 - f0) * above(t - t0) / (t1 - t0)
        return foot[-1][1]
    return force
