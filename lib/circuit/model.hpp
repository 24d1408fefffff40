// The assembled circuit: states to rates, exact sparse Jacobian, guards, ledger and channels.
#pragma once

#include <algorithm>
#include <memory>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "circuit/layout.hpp"
#include "hydraulics/free_energy.hpp"

namespace pedalbench {

inline constexpr double kNucleus = 1e-12; // reference m3 of gas that any volume keeps on its walls
inline constexpr double kReservoirOutlet = 2e-6; // m3 below which a reservoir begins to give air

/// A row of the pressure and composition of a node by one state. Of the air in solution only its
/// own composition depends, by Work::per_volume; of its temperature only the temperature.
struct NodeSlope {
    double p = 0, liquid = 0, gas = 0, dissolved = 0;
};

/// Share of what is drawn from a reservoir that is liquid, and its slope by the liquid there: all
/// of it, then air as the level uncovers the outlet, a smooth step over 2 cm3.
inline double submerged_share(double liquid, double* slope = nullptr) {
    const double u = std::clamp(liquid / kReservoirOutlet, 0.0, 1.0);
    if (slope) *slope = 6 * u * (1 - u) / kReservoirOutlet;
    return u * u * (3 - 2 * u);
}

/// Scratch of one evaluation. The model is const; whoever evaluates brings this.
struct Work {
    std::vector<double> at;                      // the state whose volumes these are
    std::vector<VolumeState> volume;             // per node
    std::vector<VolumeContent> content;          // per line volume
    std::vector<VolumeState> line;               // the same
    std::vector<double> swept;                   // per node [m3]
    std::vector<double> dissolved;               // per node, reference m3 per m3 of volume
    std::vector<double> per_volume;              // per node, its slope by the node's own [1/m3]
    std::vector<double> tank;                    // per node, pressure put on a reservoir [Pa]
    std::vector<double> heat;                    // per node [W], of the last Jacobian
    std::vector<std::vector<NodeSlope>> slope;   // per node, per dependency
    std::vector<std::vector<double>> local;      // per instance
    std::vector<std::vector<PortAside>> aside;   // per instance, per port
    std::vector<double> guard;                   // all guards
    std::vector<double> out, jacobian, sweep, x; // of the part at hand
};

/// Compressed rows; every diagonal entry is present. The same over all modes and changes.
struct SparsePattern {
    std::vector<int> row_start, column;
};

struct ErrorScale {
    double pressure = 1e3; // Pa
    double volume = 1e-8;  // m3, for contents of nodes
    double states = 1;     // times the tolerance that each part states for its own states
};

/// What the foot does at one moment: the input and its rate.
struct Drive {
    double value = 0, rate = 0;
};

struct ChannelInfo {
    std::string path;
    Dimension dimension;
    std::string_view help;
};

struct FluidLedger {
    double liquid_chambers = 0, liquid_reservoirs = 0, liquid_outside = 0; // reference m3
    double gas_chambers = 0, gas_reservoirs = 0, gas_outside = 0;          // free
    double dissolved = 0; // air in solution, wherever it is

    /// All of it, which nothing makes or loses.
    double gas() const { return gas_chambers + gas_reservoirs + gas_outside + dissolved; }
};

/// Powers of the whole circuit at one moment [W] and what it stores [J]. At one temperature
///
///   d stored/dt = supplied + unpaid - lost
///
/// and with heat d heat/dt = rubbed - cooled besides. Reservoirs and the world are baths at their
/// own pressure and height: what goes there leaves, what comes from there is supplied.
struct Energy {
    double stored = 0;   // springs, columns, masses, compressed fluid and air, height
    double heat = 0;     // of discs, drums, fluid and the metal round it, above the air's
    double supplied = 0; // by foot, hand, engine, pump and baths
    double lost = 0;     // to friction, throttling, air going into and out of solution
    double unpaid = 0;   // by simplifications, which the pages of the parts name
    double rubbed = 0;   // of what is lost, what heats discs and drums
    double cooled = 0;   // to the air and with fluid that leaves
};

/// Const after construction. A change of fields makes a new model on the same layout.
class Model {
  public:
    /// Throws InvalidHardware.
    explicit Model(const Hardware& hardware);

    const Layout& layout() const { return layout_; }
    const Hardware& hardware() const { return hardware_; }
    int states() const { return layout_.states; }
    int guards() const { return layout_.guards; }
    const GuardInfo& guard_info(int k) const { return *guard_info_[k]; }
    /// Instance that a guard belongs to.
    int guard_instance(int k) const { return guard_instance_[k]; }
    const SparsePattern& pattern() const { return pattern_; }

    Work make_work() const;
    /// State at rest: pistons home, every volume at its hydrostatic pressure.
    std::vector<double> start() const;

    /// What moves at the start of a run, after settling: a car that rolls.
    void set_off(double* y) const;

    /// Rates at y; guard values are left in work.guard. `modes` has guards() entries.
    void rates(const double* y, const Drive& drive, const char* modes, bool located, Work& work,
               double* f) const;
    /// Values of df/dy in pattern order and df/dt. Leaves the node slopes in `work` for
    /// error_norm().
    void jacobian(const double* y, const Drive& drive, const char* modes, bool located, Work& work,
                  double* values, double* dfdt) const;
    /// Largest of |error| / scale over node pressures, contents and the parts' own states, with the
    /// node slopes of the last jacobian() on `work`.
    double error_norm(const Work& work, const double* e, const ErrorScale& scale) const;

    /// error_norm() of an error of one in each state alone, at y.
    void error_weights(const double* y, Work& work, const ErrorScale& scale, double* weight) const;

    FluidLedger ledger(const double* y) const;
    /// Evaluates the Jacobian besides: not for the step loop.
    Energy energy(const double* y, const Drive& drive, const char* modes, bool located,
                  Work& work) const;

    const std::vector<ChannelInfo>& channels() const { return channels_; }
    /// Place of a channel among them. Throws InvalidHardware for a path that there is not.
    std::size_t channel(const std::string& path) const;
    /// All channels at y, in the order of channels().
    void channel_values(const double* y, const Drive& drive, const char* modes, bool located,
                        Work& work, double* values) const;

  private:
    /// Where the derivatives of a part by what meets at one of its ports go. In its table they
    /// stand side by side: by pressure, liquid, what is carried, temperature, as far as it sees
    /// them.
    struct PortColumns {
        enum Sees { kFluid, kPressure, kLevel } sees = kFluid;
        bool warms = false; // has a temperature of its own
        int node = 0, way = 0, columns = 0;
        std::vector<int> slot; // outputs x dependencies of the node, -1 where the row is none
        std::vector<int> dissolved_slot; // per output, of the node's own air in solution, or -1
    };
    enum Carries : char { kNothing, kGas, kDissolved };
    struct PartMap {
        int positions = 0;            // states and joints
        int ways = 0, drive = -1;     // directions, that of the drive or -1
        std::vector<int> row;         // global row per output, -1: none
        std::vector<double> factor;   // per output, to what becomes a rate of its row
        std::vector<Carries> carries; // per output
        /// By positions: where it stands in the table, by rows.
        struct Own {
            int way, slot;
        };
        std::vector<Own> own;
        std::vector<int> own_start;
        std::vector<PortColumns> port; // not those to the world, where nothing depends on anything
    };

    void locate_heights();
    void find_dependencies();
    bool couples(int row, int column) const;
    void make_pattern();
    void name_channels();
    /// Sum over the ports that meet at each node, of what parts say of their ports at the start.
    std::vector<double> at_nodes(double (Part::*says)(int) const) const;
    void refuse_full_pockets() const;
    void press_on_reservoirs(const double* y, Work& work, bool slopes) const;
    /// Writes the positions of an instance; returns the place after them.
    double* positions(std::size_t instance, const double* y, double* to) const;
    void find_sources();
    void volumes(const double* y, Work& work) const;
    void slopes(const double* y, Work& work) const;
    void put(const PartMap& map, const double* slope, const Work& work, double* values) const;
    void locals(int i, const double* y, const Drive& drive, Work& work) const;
    Potentials potentials(int node, const double* y, const Work& work, double height) const;
    double warm_capacity(int node, const double* y) const;
    double open_value(JointKind kind) const;

    Hardware hardware_;
    Surroundings around_;
    Layout layout_;
    std::vector<std::unique_ptr<const Part>> part_; // per instance
    std::vector<Walls> walls_;                      // per node
    std::vector<double> height_, metal_;            // per node
    std::vector<int> lines_;                        // nodes that are volumes of a line
    std::vector<std::vector<int>> depends_;         // per node: states on which it depends
    std::vector<std::vector<int>> swept_at_; // per instance: ports x positions -> place in depends_
    /// A port by which a part puts pressure on a reservoir; where its states stand in depends_.
    struct Tank {
        int instance, port, node;
        std::vector<int> at;
    };
    std::vector<Tank> tanks_;
    /// Where a part finds its locals: the states of its positions (-1: an open joint, whose value
    /// stands in `open`), and what meets at its ports.
    struct Sources {
        struct Port {
            int node;
            int temperature;  // state, -1: that of the surroundings
            int level;        // state of a reservoir's fluid, -1: no reservoir
            bool feels_level; // stands for the fluid there instead of its pressure
        };
        std::vector<int> column;
        std::vector<double> open;
        std::vector<Port> port;
        bool sweeps;
    };
    std::vector<Sources> sources_; // per instance
    std::vector<double> still_;    // per node, volume that nothing sweeps [m3]
    std::vector<PartMap> map_;
    std::vector<std::vector<int>> gas_slot_,
        dissolved_slot_; // per node: its row, dependencies + own
    SparsePattern pattern_;
    std::vector<double> capacity_; // per joint
    std::vector<const GuardInfo*> guard_info_;
    std::vector<int> guard_instance_;
    std::vector<ChannelInfo> channels_;
    std::vector<double> state_scale_;
};

} // namespace pedalbench
