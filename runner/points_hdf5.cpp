#include "points_hdf5.hpp"

#ifdef PEDALBENCH_HDF5

#include <algorithm>
#include <string>
#include <vector>

#include <hdf5.h>

#include "points_file.hpp"
#include "result_folder.hpp"

namespace pedalbench::runner {

namespace {

constexpr std::size_t kChunk = 16384; // rows

/// An identifier of the library with what closes it.
class Id {
  public:
    Id(hid_t id, herr_t (*close)(hid_t)) : id_(id), close_(close) {
        if (id_ < 0) throw CannotWrite("cannot write the HDF5 file");
    }
    Id(Id&& other) noexcept : id_(other.id_), close_(other.close_) { other.id_ = -1; }
    Id(const Id&) = delete;
    Id& operator=(const Id&) = delete;
    Id& operator=(Id&&) = delete;
    ~Id() {
        if (id_ >= 0) close_(id_);
    }
    operator hid_t() const { return id_; }

  private:
    hid_t id_;
    herr_t (*close_)(hid_t);
};

void check(herr_t code) {
    if (code < 0) throw CannotWrite("cannot write the HDF5 file");
}

void attribute(hid_t of, const char* name, std::string text) {
    if (text.empty()) text = "1"; // a string of no length there is not
    const Id type(H5Tcopy(H5T_C_S1), H5Tclose);
    check(H5Tset_size(type, text.size()));
    check(H5Tset_cset(type, H5T_CSET_UTF8));
    const Id space(H5Screate(H5S_SCALAR), H5Sclose);
    const Id written(H5Acreate2(of, name, type, space, H5P_DEFAULT, H5P_DEFAULT), H5Aclose);
    check(H5Awrite(written, type, text.data()));
}

/// A column that grows by chunks.
class Column {
  public:
    Column(hid_t group, std::string name, hid_t type, const std::string& unit)
        : set_(make(group, name, type)) {
        if (unit.empty()) return;
        attribute(set_, "units", unit);
        attribute(set_, "long_name", name);
    }

    void append(hid_t type, const void* values, std::size_t n) {
        const hsize_t from = rows_, count = n, size = rows_ += n;
        check(H5Dset_extent(set_, &size));
        const Id space(H5Dget_space(set_), H5Sclose),
            memory(H5Screate_simple(1, &count, nullptr), H5Sclose);
        check(H5Sselect_hyperslab(space, H5S_SELECT_SET, &from, nullptr, &count, nullptr));
        check(H5Dwrite(set_, type, memory, space, H5P_DEFAULT, values));
    }
    void note(const char* name, const std::string& text) const { attribute(set_, name, text); }

  private:
    static Id make(hid_t group, std::string name, hid_t type) {
        std::replace(name.begin(), name.end(), '/', '|'); // a slash would open a group
        const hsize_t none = 0, any = H5S_UNLIMITED, chunk = kChunk;
        const Id space(H5Screate_simple(1, &none, &any), H5Sclose);
        const Id how(H5Pcreate(H5P_DATASET_CREATE), H5Pclose);
        check(H5Pset_chunk(how, 1, &chunk));
        check(H5Pset_shuffle(how));
        check(H5Pset_deflate(how, 4));
        check(H5Pset_obj_track_times(how, false)); // no clock in the bytes
        return {H5Dcreate2(group, name.c_str(), type, space, H5P_DEFAULT, how, H5P_DEFAULT),
                H5Dclose};
    }

    Id set_;
    hsize_t rows_ = 0;
};

} // namespace

bool has_hdf5() {
    return true;
}

void write_points_hdf5(const std::filesystem::path& csv, const std::filesystem::path& file,
                       const Study& study) {
    H5Eset_auto2(H5E_DEFAULT, nullptr, nullptr); // what fails is told once, in our words
    const Id h5(H5Fcreate(file.c_str(), H5F_ACC_TRUNC, H5P_DEFAULT, H5P_DEFAULT), H5Fclose);
    attribute(h5, "title", study.title);
    attribute(h5, "key", study.key);
    const auto group = [&](const char* name) {
        return Id(H5Gcreate2(h5, name, H5P_DEFAULT, H5P_DEFAULT, H5P_DEFAULT), H5Gclose);
    };
    const Id varied = group("varied"), answers = group("answers");
    const auto unit = [&](Dimension d) {
        const std::string_view name = study.units.of(d).name;
        return std::string(name.empty() ? "1" : name);
    };
    Column row_column(h5, "row", H5T_STD_U64LE, "");
    Column outcome_column(h5, "outcome", H5T_STD_U8LE, "");
    outcome_column.note("long_name", "0 complete, 1 refused, 2 failed");
    std::vector<Column> columns;
    for (const study::Varied& v : study.sweep.varied)
        columns.emplace_back(varied, v.path, H5T_IEEE_F64LE, unit(v.dimension));
    for (const study::Answer& a : study.sweep.answers)
        columns.emplace_back(answers, a.text, H5T_IEEE_F64LE, unit(a.dimension));

    std::vector<std::uint64_t> numbers;
    std::vector<unsigned char> outcomes;
    std::vector<std::vector<double>> values(columns.size());
    const auto flush = [&] {
        if (numbers.empty()) return;
        row_column.append(H5T_NATIVE_UINT64, numbers.data(), numbers.size());
        outcome_column.append(H5T_NATIVE_UCHAR, outcomes.data(), outcomes.size());
        for (std::size_t c = 0; c < columns.size(); ++c) {
            columns[c].append(H5T_NATIVE_DOUBLE, values[c].data(), values[c].size());
            values[c].clear();
        }
        numbers.clear();
        outcomes.clear();
    };
    PointsReader reader(csv, study);
    for (PointsRow row; reader.next(row);) {
        numbers.push_back(row.number);
        outcomes.push_back(row.end == study::Outcome::End::complete  ? 0
                           : row.end == study::Outcome::End::refused ? 1
                                                                     : 2);
        for (std::size_t d = 0; d < row.inputs.size(); ++d)
            values[d].push_back(row.inputs[d]);
        for (std::size_t a = 0; a < row.answers.size(); ++a)
            values[row.inputs.size() + a].push_back(row.answers[a]);
        if (numbers.size() == kChunk) flush();
    }
    flush();
    check(H5Fflush(h5, H5F_SCOPE_GLOBAL));
}

} // namespace pedalbench::runner

#else

namespace pedalbench::runner {

bool has_hdf5() {
    return false;
}

void write_points_hdf5(const std::filesystem::path&, const std::filesystem::path&, const Study&) {}

} // namespace pedalbench::runner

#endif
