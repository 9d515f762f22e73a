// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  What must hold for any input: else the program ends at once, and the fuzzer keeps the input.

#include <cstdio>
#include <cstdlib>

#define CAPSIM_EXPECT(condition)                                                     \
  do {                                                                               \
    if (!(condition)) {                                                              \
      std::fprintf(stderr, "%s:%d: not true: %s\n", __FILE__, __LINE__, #condition); \
      std::abort();                                                                  \
    }                                                                                \
  } while (false)
