#!/usr/bin/env bash
# SPDX-License-Identifier: BSD-3-Clause
#
# Builds libcapsim as a package for browsers and node:
#   bindings/web/build.sh [folder]            default: build/web
#   bindings/web/build.sh --tools [folder]    only the tools from npm (bundler, type checker, test tools)
# leaves the package in <folder>/package. Needs emscripten, cmake, ninja, node, npm, and the headers
# of Eigen, Boost and nlohmann-json; on Debian and Ubuntu `tests/run.sh web` installs them.
set -euo pipefail

only_tools=""
if [ "${1:-}" = --tools ]; then only_tools=yes; shift; fi
here="$(cd "$(dirname "${BASH_SOURCE[0]}")" && pwd -P)"
out="${1:-${CAPSIM_BUILD_DIR:-$here/../../build}/web}"
mkdir -p "$out"
out="$(cd "$out" && pwd -P)"

cp "$here/package.json" "$here/package-lock.json" "$here/.npmrc" "$out/"
if ! cmp -s "$here/package-lock.json" "$out/node_modules/.installed-lock.json"; then
  (cd "$out" && npm ci --no-progress)
  cp "$here/package-lock.json" "$out/node_modules/.installed-lock.json"
fi
[ -n "$only_tools" ] && exit 0

# Debian keeps emscripten's JavaScript parser where node does not look by itself.
export NODE_PATH="/usr/share/nodejs${NODE_PATH:+:$NODE_PATH}"
command -v ccache >/dev/null && export EM_COMPILER_WRAPPER="${EM_COMPILER_WRAPPER-ccache}"
# What ccache must be told to take files that use precompiled headers.
export CCACHE_SLOPPINESS="${CCACHE_SLOPPINESS:+$CCACHE_SLOPPINESS,}pch_defines,time_macros"

# CAPSIM_WEB_SIMD=OFF: for browsers of 2021 and before, which lack vectors or exceptions.
emcmake cmake -S "$here" -B "$out/wasm" -G Ninja -DCAPSIM_WEB_SIMD="${CAPSIM_WEB_SIMD:-ON}"
cmake --build "$out/wasm" --parallel "${CAPSIM_JOBS:-1}"

# Checks the types, too.
"$out/node_modules/.bin/tsc" -p "$here/tsconfig.json" --noEmit false --emitDeclarationOnly --declaration \
  --noEmitOnError --outDir "$out/package/types"
node "$here/pack.mjs" "$out"
