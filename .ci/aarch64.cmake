# 64-bit ARM with Debian's g++-aarch64-linux-gnu; what is built runs under qemu. .ci/test_aarch64 unpacks the libraries.
set(CMAKE_SYSTEM_NAME Linux)
set(CMAKE_SYSTEM_PROCESSOR aarch64)
set(CMAKE_CXX_COMPILER aarch64-linux-gnu-g++)
set(CMAKE_CROSSCOMPILING_EMULATOR qemu-aarch64-static -L /usr/aarch64-linux-gnu)
set(CMAKE_LIBRARY_ARCHITECTURE aarch64-linux-gnu)
list(APPEND CMAKE_PREFIX_PATH ${CMAKE_CURRENT_LIST_DIR}/../build/aarch64/root/usr)
# Only headers are used of Boost, and its headers are the same for all.
file(GLOB Boost_DIR /usr/lib/*/cmake/Boost-1*)
