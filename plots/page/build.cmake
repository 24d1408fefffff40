# Makes page_template.cpp in BINARY from the files in SOURCE. Where it cannot, it writes one that says why, so that the
# program is built all the same.
file(MAKE_DIRECTORY "${BINARY}")
file(REMOVE "${BINARY}/no_page")

function(without why)
  message(WARNING "pedalbench is built without pages (run --page): ${why}")
  file(TOUCH "${BINARY}/no_page") # the next configuration tries again
  file(WRITE "${BINARY}/page_template.cpp"
    "#include \"runner/page_template.hpp\"\n\nnamespace pedalbench::runner {\n\n"
    "const std::string_view kPageTemplate = \"\";\n"
    "const std::string_view kNoPageTemplate = \"this program was built without pages: ${why}; "
    "then configure and build it again\";\n\n} // namespace pedalbench::runner\n")
endfunction()

if(NOT NODE OR NOT NPM)
  without("node and npm were not found; install them (.ci/install run)")
  return()
endif()

file(SHA256 "${SOURCE}/package-lock.json" wanted)
set(have "")
if(EXISTS "${BINARY}/installed")
  file(READ "${BINARY}/installed" have)
endif()
if(NOT have STREQUAL wanted)
  foreach(name package.json package-lock.json .npmrc)
    configure_file("${SOURCE}/${name}" "${BINARY}/${name}" COPYONLY)
  endforeach()
  execute_process(COMMAND "${NPM}" ci --ignore-scripts WORKING_DIRECTORY "${BINARY}" RESULT_VARIABLE failed)
  if(failed)
    without("npm could not fetch uPlot; look at what it wrote above, most often there is no network")
    return()
  endif()
  file(WRITE "${BINARY}/installed" "${wanted}")
endif()
execute_process(COMMAND "${NODE}" "${SOURCE}/build.mjs" "${BINARY}" "${BINARY}/page_template.cpp" RESULT_VARIABLE failed)
if(failed)
  message(FATAL_ERROR "plots/page/build.mjs failed; see above")
endif()
