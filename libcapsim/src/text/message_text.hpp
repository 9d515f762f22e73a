// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  Pieces of the user's own text, made safe to repeat in a message.

#include <cstddef>
#include <string>
#include <string_view>

namespace capsim {

/// Text in quotes for a message: shortened, valid UTF-8, control characters escaped.
[[nodiscard]] std::string in_quotes(std::string_view text);

/// `.key`-style path of a member, with quotes where the key is not a plain word.
[[nodiscard]] std::string key_path(const std::string& parent, std::string_view key);

/// Number of bytes at the start of `text` that are valid UTF-8 (its size when all are).
[[nodiscard]] std::size_t valid_utf8_length(std::string_view text) noexcept;

}  // namespace capsim
