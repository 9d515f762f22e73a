#!/usr/bin/env bash
# SPDX-License-Identifier: BSD-3-Clause
#
# The demonstration: installs what is missing, builds the library with its Python package, and
# runs demo.py beside this file. Arguments are handed on to it (`--help` lists them).
set -uo pipefail
# shellcheck source=../tests/support/prepare.sh
source "$(dirname "${BASH_SOURCE[0]}")/../tests/support/prepare.sh"

capsim_prepare bindings/python/all || exit 1
exec "$CAPSIM_PYTHON" "$CAPSIM_ROOT/examples/demo.py" "$@"
