/* SPDX-License-Identifier: BSD-3-Clause */
/*
 * Linked into a program beside the static library: what the compiler's run-time says of the processor then leaves out
 * AVX2, so that the library takes its narrow path. For tools that do not know every encoding of the wide instructions.
 */
#if defined(__x86_64__) && defined(__GNUC__)
#include <stdio.h>
#include <stdlib.h>

extern struct {
  unsigned vendor, type, subtype, features[1];
} __cpu_model; /* of libgcc and compiler-rt, the same in both */

static const unsigned avx2 = 1U << 10;

__attribute__((constructor)) static void leave_out_avx2(void) {
  __builtin_cpu_init();
  __cpu_model.features[0] &= ~avx2;
  if (__builtin_cpu_supports("avx2")) { /* another run-time: better no answer than one about something else */
    fprintf(stderr, "AVX2 can't be left out here\n");
    exit(3);
  }
}
#else
typedef int nothing_to_leave_out;
#endif
