# What find_package(farrowtide) finds: the kernel and the whole engine, each as one library made of the layers' objects,
# static or shared as BUILD_SHARED_LIBS says. Headers include nothing but the standard library, so that users compile
# without Boost, Eigen, Random123 and yaml-cpp.
include(GNUInstallDirs)
include(CMakePackageConfigHelpers)
set(package_folder ${CMAKE_INSTALL_LIBDIR}/cmake/farrowtide)
set(flavour static)
if(BUILD_SHARED_LIBS)
  set(flavour shared)
endif()

# farrowtide_library(<component> <file> LAYERS <targets...> LINKS <targets...>)
function(farrowtide_library component file)
  cmake_parse_arguments(LIBRARY "" "" "LAYERS;LINKS" ${ARGN})
  set(library farrowtide_package_${component})
  set(objects ${LIBRARY_LAYERS})
  list(TRANSFORM objects REPLACE "(.+)" "$<TARGET_OBJECTS:\\1>")
  add_library(${library} ${objects})
  add_dependencies(${library} ${LIBRARY_LAYERS})
  target_link_libraries(${library} ${LIBRARY_LINKS})
  target_include_directories(${library} INTERFACE $<INSTALL_INTERFACE:${CMAKE_INSTALL_INCLUDEDIR}/farrowtide>)
  target_compile_features(${library} INTERFACE cxx_std_20)
  target_compile_options(${library} INTERFACE -ffp-contract=off)  # what headers compute gives the same bytes, too
  # Below 1.0 a new minor version may change the binary interface: .site/pages/compatibility.md
  set_target_properties(${library} PROPERTIES OUTPUT_NAME ${file} EXPORT_NAME ${component} LINKER_LANGUAGE CXX
    VERSION ${PROJECT_VERSION} SOVERSION ${PROJECT_VERSION_MAJOR}.${PROJECT_VERSION_MINOR} INSTALL_RPATH "$ORIGIN"
    ARCHIVE_OUTPUT_DIRECTORY ${PROJECT_BINARY_DIR}/package LIBRARY_OUTPUT_DIRECTORY ${PROJECT_BINARY_DIR}/package)
  install(TARGETS ${library} EXPORT farrowtide-${component} COMPONENT ${component})
  install(EXPORT farrowtide-${component} NAMESPACE farrowtide:: FILE farrowtide-${component}-${flavour}.cmake
    DESTINATION ${package_folder} COMPONENT ${component})
endfunction()

get_property(layers GLOBAL PROPERTY farrowtide_layers)
foreach(layer IN LISTS layers)
  get_target_property(type ${layer} TYPE)
  if(type STREQUAL INTERFACE_LIBRARY)
    list(REMOVE_ITEM layers ${layer})
  endif()
endforeach()
list(REMOVE_ITEM layers farrowtide_kernel)
farrowtide_library(kernel farrowtide_kernel LAYERS farrowtide_kernel)
farrowtide_library(sim farrowtide LAYERS ${layers}
  LINKS PUBLIC farrowtide_package_kernel PRIVATE ${yaml_cpp} Threads::Threads)

install(DIRECTORY kernel DESTINATION ${CMAKE_INSTALL_INCLUDEDIR}/farrowtide/libsim COMPONENT kernel
  FILES_MATCHING PATTERN "*.hpp")
install(DIRECTORY . DESTINATION ${CMAKE_INSTALL_INCLUDEDIR}/farrowtide/libsim COMPONENT sim
  FILES_MATCHING PATTERN "*.hpp" PATTERN kernel EXCLUDE)
configure_package_config_file(package_config.cmake.in ${CMAKE_CURRENT_BINARY_DIR}/farrowtide-config.cmake
  INSTALL_DESTINATION ${package_folder} NO_SET_AND_CHECK_MACRO)
write_basic_package_version_file(${CMAKE_CURRENT_BINARY_DIR}/farrowtide-config-version.cmake COMPATIBILITY SameMinorVersion)
install(FILES ${CMAKE_CURRENT_BINARY_DIR}/farrowtide-config.cmake ${CMAKE_CURRENT_BINARY_DIR}/farrowtide-config-version.cmake
  DESTINATION ${package_folder} COMPONENT kernel)
