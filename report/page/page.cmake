# The files of the report page, embedded; the chart library comes from Debian's
# libjs-dygraphs, the templates' reader from libkainjow-mustache-dev.
find_path(MUSTACHE_INCLUDE_DIR kainjow/mustache.hpp)
find_file(DYGRAPHS_JS dygraph.min.js PATHS /usr/share/javascript/dygraphs NO_DEFAULT_PATH)
find_file(DYGRAPHS_CSS dygraph.min.css PATHS /usr/share/javascript/dygraphs NO_DEFAULT_PATH)
if(NOT MUSTACHE_INCLUDE_DIR)
  message(FATAL_ERROR
    "kainjow/mustache.hpp not found: install the Debian package libkainjow-mustache-dev")
endif()
if(NOT DYGRAPHS_JS OR NOT DYGRAPHS_CSS)
  message(FATAL_ERROR "dygraph.min.js and dygraph.min.css not found below "
    "/usr/share/javascript/dygraphs: install the Debian package libjs-dygraphs")
endif()

# Without the pointers to their source maps, which a page of one file lacks.
function(rigproof_without_source_map from to)
  file(READ ${from} text)
  string(REGEX REPLACE "[\r\n]*/[/*]# sourceMappingURL=[^\r\n]*" "" text "${text}")
  file(WRITE ${to}.new "${text}")
  file(COPY_FILE ${to}.new ${to} ONLY_IF_DIFFERENT)
endfunction()
set(library_js ${CMAKE_CURRENT_BINARY_DIR}/page/dygraph.min.js)
set(library_css ${CMAKE_CURRENT_BINARY_DIR}/page/dygraph.min.css)
rigproof_without_source_map(${DYGRAPHS_JS} ${library_js})
rigproof_without_source_map(${DYGRAPHS_CSS} ${library_css})

# The page lets exactly these three scripts run, known by their digests.
set(page_js ${CMAKE_CURRENT_SOURCE_DIR}/page/page.js)
set(what_if_js ${CMAKE_CURRENT_BINARY_DIR}/page/whatif.js)
set(what_if_text "(() => {\n'use strict';\n")
foreach(part whatif_sums whatif_rows whatif)
  set(part_js ${CMAKE_CURRENT_SOURCE_DIR}/page/${part}.js)
  set_property(DIRECTORY APPEND PROPERTY CMAKE_CONFIGURE_DEPENDS ${part_js})
  file(READ ${part_js} text)
  string(APPEND what_if_text "${text}")
endforeach()
string(APPEND what_if_text "})();\n")
file(WRITE ${what_if_js}.new "${what_if_text}")
file(COPY_FILE ${what_if_js}.new ${what_if_js} ONLY_IF_DIFFERENT)
set_property(DIRECTORY APPEND PROPERTY CMAKE_CONFIGURE_DEPENDS ${page_js} ${DYGRAPHS_JS})
file(SHA256 ${library_js} library_js_sha256)
file(SHA256 ${page_js} page_js_sha256)
file(SHA256 ${what_if_js} what_if_js_sha256)
set_property(SOURCE show/html/html.cc APPEND PROPERTY COMPILE_DEFINITIONS
  RIGPROOF_LIBRARY_JS_SHA256="${library_js_sha256}" RIGPROOF_PAGE_JS_SHA256="${page_js_sha256}"
  RIGPROOF_WHAT_IF_JS_SHA256="${what_if_js_sha256}")

set(page_parts)
foreach(part Ballast Cautions Charts Disk Facts Findings Headroom Histogram Method
    Page Part Rehearsal Room Section See Sheet SignOff Summary Table Tree WhatIf Wiring)
  string(TOLOWER ${part} file)
  list(APPEND page_parts k${part}=${CMAKE_CURRENT_SOURCE_DIR}/page/${file}.mustache)
endforeach()
rigproof_embed(rigproof_report report/page_files.h report::page_files
  ${page_parts}
  kPageCss=${CMAKE_CURRENT_SOURCE_DIR}/page/page.css
  kSheetCss=${CMAKE_CURRENT_SOURCE_DIR}/page/sheet.css
  kPrintCss=${CMAKE_CURRENT_SOURCE_DIR}/page/print.css
  kWhatIfCss=${CMAKE_CURRENT_SOURCE_DIR}/page/whatif.css
  kSignOffCss=${CMAKE_CURRENT_SOURCE_DIR}/page/signoff.css
  kPageJs=${page_js}
  kWhatIfJs=${what_if_js}
  kLibraryJs=${library_js}
  kLibraryCss=${library_css})
