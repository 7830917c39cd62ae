# Compiles the coefficient files into the scenario layer as text, so the library needs no data files at run time.
set(embedded ${CMAKE_CURRENT_BINARY_DIR}/embedded_coefficients.cpp)
set(coefficient_files)
foreach(name sow litter room staff climate)
  list(APPEND coefficient_files ${CMAKE_CURRENT_LIST_DIR}/${name}.yaml)
endforeach()
add_custom_command(OUTPUT ${embedded}
  COMMAND ${CMAKE_COMMAND} -DOUTPUT=${embedded} "-DFILES=${coefficient_files}" -P ${CMAKE_CURRENT_LIST_DIR}/write_embedded.cmake
  DEPENDS ${coefficient_files} ${CMAKE_CURRENT_LIST_DIR}/write_embedded.cmake VERBATIM)
target_sources(farrowtide_scenario PRIVATE ${embedded})
