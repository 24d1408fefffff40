// Makes a part of a law: values and derivatives from the same lines.
#pragma once

#include <algorithm>
#include <array>
#include <memory>
#include <span>

#include "parts/part.hpp"

namespace pedalbench {

inline constexpr std::array<PortInfo, 0> kNoPorts{};

/// Where each local of a part is differentiated along, and how many directions that takes.
template <std::size_t locals>
struct Directions {
    std::array<int, locals> of{};
    int count = 0;
};

/// What never changes needs no direction (-1): the drive of a part that takes none, everything
/// beyond an opening to the world, the temperature of a reservoir, and what a port does not see
/// that only feels a pressure or a level. Free gas and air in solution of one port share a
/// direction, since each is carried and acts on nothing but its own kind: the output tells which.
template <std::size_t locals>
constexpr Directions<locals> directions_of(int positions, bool driven, const auto& ports) {
    Directions<locals> d;
    auto at = d.of.begin();
    for (int i = 0; i < positions; ++i)
        *at++ = d.count++;
    *at++ = driven ? d.count++ : -1;
    for (const PortInfo& port : ports) {
        const bool fluid = port.kind == PortKind::line || port.kind == PortKind::reservoir;
        const int p = port.kind == PortKind::outside ? -1 : d.count++;
        const int liquid = fluid ? d.count++ : -1, carried = fluid ? d.count++ : -1;
        const int T = port.kind == PortKind::line ? d.count++ : -1;
        for (const int direction : {p, liquid, carried, T, carried})
            *at++ = direction;
    }
    return d;
}

/// Makes a Part of a law. A law has the constants kStates, kJoints, kPorts and kGuards, a static
/// `kind`, a constructor from (Values, Surroundings), and the templates swept() and rates(); one
/// that takes the foot's input says so by kDriven. `Ports` is the table of its ports.
template <class Law, const auto& Ports = kNoPorts>
class PartOf final : public Part {
    static_assert(std::size(Ports) == Law::kPorts);

  public:
    PartOf(const Values& values, const Surroundings& around) : law_(values, around) {}

    static std::unique_ptr<const Part> make(const Values& values, const Surroundings& around) {
        return std::make_unique<PartOf>(values, around);
    }

    const PartKind& kind() const override { return Law::kind; }
    void start(double* x) const override {
        for (int i = 0; i < Law::kStates; ++i)
            x[i] = 0;
        if constexpr (requires { law_.start(x); }) law_.start(x);
    }
    void set_off(double* x, double* joint) const override {
        if constexpr (requires { law_.set_off(x, joint); }) law_.set_off(x, joint);
    }
    double heat_capacity(int port) const override {
        if constexpr (requires { law_.heat_capacity(port); }) return law_.heat_capacity(port);
        return 0;
    }
    Wall wall(int port) const override {
        if constexpr (requires { law_.wall(port); }) return law_.wall(port);
        return {};
    }
    double height(int port) const override {
        if constexpr (requires { law_.height(port); }) return law_.height(port);
        return kUnset;
    }
    double capacity(int joint) const override {
        if constexpr (requires { law_.capacity(joint); }) return law_.capacity(joint);
        return 0;
    }
    double pocket(int port) const override {
        if constexpr (requires { law_.pocket(port); }) return law_.pocket(port);
        return 0;
    }
    double level(int port) const override {
        if constexpr (requires { law_.level(port); }) return law_.level(port);
        return 0;
    }
    double tank_pressure(int port, const double* x, double* slope) const override {
        for (int i = 0; i < Law::kStates; ++i)
            slope[i] = 0;
        if constexpr (requires(std::array<double, Law::kStates> own) {
                          law_.template tank_pressure<double>(port, own);
                      }) {
            using D = Dual<Law::kStates>;
            std::array<D, Law::kStates> own;
            for (int i = 0; i < Law::kStates; ++i)
                own[i] = D::seed(x[i], i);
            const D p = law_.template tank_pressure<D>(port, own);
            for (int i = 0; i < Law::kStates; ++i)
                slope[i] = p.d[i];
            return p.v;
        }
        return 0;
    }

    void swept(const double* x_and_joints, double* volume, double* slope) const override {
        constexpr int n = kPositions;
        if constexpr (requires(In<double, Law> in) {
                          law_.template swept<double>(in.x, in.joint);
                      }) {
            if (!slope) {
                const auto v = swept_in<double>(x_and_joints, [](double x, int) { return x; });
                std::copy(v.begin(), v.end(), volume);
                return;
            }
            using D = Dual<n>;
            const auto v = swept_in<D>(x_and_joints, [](double x, int i) { return D::seed(x, i); });
            for (int j = 0; j < Law::kPorts; ++j) {
                volume[j] = v[j].v;
                for (int i = 0; i < n; ++i)
                    slope[j * n + i] = v[j].d[i];
            }
        } else {
            const std::array<double, Law::kPorts> v = law_.volume();
            std::copy(v.begin(), v.end(), volume);
            if (slope) std::fill(slope, slope + Law::kPorts * n, 0.0);
        }
    }

    void rates(const double* local, const PortAside* aside, Gates gates,
               double* out) const override {
        const auto in = view<double>(local, aside, [](double v, int) { return v; });
        write(law_.rates(in, gates), [out](double v, int row) { out[row] = v; });
    }
    std::span<const int> directions() const override { return kDirections.of; }
    void derivatives(const double* local, const PortAside* aside, Gates gates, double* out,
                     double* slope) const override {
        using D = Dual<kDirections.count>;
        const auto in = view<D>(local, aside, [](double v, int i) {
            return kDirections.of[i] < 0 ? D(v) : D::seed(v, kDirections.of[i]);
        });
        write(law_.rates(in, gates), [out, slope](const D& v, int row) {
            out[row] = v.v;
            std::copy_n(v.d.begin(), kDirections.count, slope + row * kDirections.count);
        });
    }
    double stored(const double* local, const PortAside* aside, Gates gates,
                  double* slope) const override {
        using D = Dual<kLocals>;
        for (int i = 0; i < kLocals; ++i)
            slope[i] = 0;
        const auto in = view<D>(local, aside, [](double v, int i) { return D::seed(v, i); });
        if constexpr (requires { law_.stored(in, gates); }) {
            const D energy = law_.stored(in, gates);
            for (int i = 0; i < kLocals; ++i)
                slope[i] = energy.d[i];
            return energy.v;
        }
        return 0;
    }
    Exchange exchange(const double* local, const double* rate, const double* out,
                      const PortAside* aside, Gates gates) const override {
        const auto as_is = [](double v, int) { return v; };
        const auto in = view<double>(local, aside, as_is), by = view<double>(rate, aside, as_is);
        const auto gives = read(out);
        if constexpr (requires { law_.exchange(in, gives, by, gates); })
            return law_.exchange(in, gives, by, gates);
        return {};
    }
    void quantities(const double* local, const PortAside* aside, Gates gates,
                    double* quantity) const override {
        const auto in = view<double>(local, aside, [](double v, int) { return v; });
        const auto out = law_.rates(in, gates);
        law_.quantities(in, out, gates, quantity);
    }

  private:
    static constexpr int kPositions = Law::kStates + Law::kJoints;
    static constexpr int kLocals = kPositions + 1 + kPortLocals * Law::kPorts;
    static constexpr bool kDriven = requires { Law::kDriven; };
    static constexpr auto kDirections = directions_of<kLocals>(kPositions, kDriven, Ports);

    template <class S, class Make>
    std::array<S, Law::kPorts> swept_in(const double* x_and_joints, Make make) const {
        std::array<S, Law::kStates> x;
        std::array<S, Law::kJoints> joint;
        for (int i = 0; i < Law::kStates; ++i)
            x[i] = make(x_and_joints[i], i);
        for (int i = 0; i < Law::kJoints; ++i)
            joint[i] = make(x_and_joints[Law::kStates + i], Law::kStates + i);
        return law_.template swept<S>(x, joint);
    }
    template <class S, class Make>
    static In<S, Law> view(const double* local, const PortAside* aside, Make make) {
        In<S, Law> in;
        int i = 0;
        for (auto& x : in.x)
            x = make(local[i], i), ++i;
        for (auto& j : in.joint)
            j = make(local[i], i), ++i;
        in.drive = make(local[i], i), ++i;
        for (int j = 0; j < Law::kPorts; ++j) {
            auto& port = in.port[j];
            for (S* s : {&port.p, &port.liquid, &port.gas, &port.T, &port.dissolved})
                *s = make(local[i], i), ++i;
            port.head = aside[j].head;
            port.level = aside[j].level;
        }
        return in;
    }
    template <class S, class Put>
    static void write(const Out<S, Law>& out, Put put) {
        int row = 0;
        for (const S& v : out.dx)
            put(v, row++);
        for (const S& v : out.joint)
            put(v, row++);
        for (const auto& port : out.port)
            for (const S* v : {&port.liquid, &port.gas, &port.heat, &port.dissolved})
                put(*v, row++);
    }

    static Out<double, Law> read(const double* from) {
        Out<double, Law> out;
        for (double& v : out.dx)
            v = *from++;
        for (double& v : out.joint)
            v = *from++;
        for (auto& port : out.port)
            for (double* v : {&port.liquid, &port.gas, &port.heat, &port.dissolved})
                *v = *from++;
        return out;
    }

    Law law_;
};

} // namespace pedalbench
