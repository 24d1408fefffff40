// points.h5: the rows of a study for programs that read HDF5.
#pragma once

#include <filesystem>

#include "study_file.hpp"

namespace pedalbench::runner {

/// Whether this program was built with HDF5.
bool has_hdf5();

/// Copies points.csv column by column, a chunk of rows at a time: `row` and `outcome` (0 complete,
/// 1 refused, 2 failed), the groups `varied` and `answers` with one dataset for each column, whose
/// attributes `units` and `long_name` say what it is; NaN where there is no number. The same rows
/// give the same bytes. Throws CannotWrite.
void write_points_hdf5(const std::filesystem::path& csv, const std::filesystem::path& file,
                       const Study& study);

} // namespace pedalbench::runner
