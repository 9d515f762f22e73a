// SPDX-License-Identifier: BSD-3-Clause
#include "text/message_text.hpp"

#include <algorithm>

#include "text/violation_list.hpp"

namespace capsim {
namespace {

/// Longest piece of the user's text that a message repeats [bytes].
constexpr std::size_t longest_quote = 60;

}  // namespace

std::string in_quotes(std::string_view text) {
  std::string out = "\"";
  const std::size_t good = valid_utf8_length(text.substr(0, longest_quote));
  const std::string_view shown = text.substr(0, good);
  for (const char c : shown) {
    const auto byte = static_cast<unsigned char>(c);
    if (byte < 0x20 || byte == 0x7F) {
      constexpr std::string_view digits = "0123456789abcdef";
      out += std::string("\\u00") + digits[byte >> 4] + digits[byte & 15];
    } else {
      if (c == '"' || c == '\\') out += '\\';
      out += c;
    }
  }
  if (shown.size() < text.size()) out += "...";
  return out + '"';
}

std::string key_path(const std::string& parent, std::string_view key) {
  const bool plain = !key.empty() && key.size() <= longest_quote && std::all_of(key.begin(), key.end(), [](char c) {
    return (c >= '0' && c <= '9') || (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || c == '_' || c == '-';
  });
  return plain ? member_path(parent, key) : parent + '[' + in_quotes(key) + ']';
}

std::size_t valid_utf8_length(std::string_view text) noexcept {
  const auto byte = [text](std::size_t k) { return static_cast<unsigned char>(text[k]); };
  std::size_t k = 0;
  while (k < text.size()) {
    const unsigned lead = byte(k);
    const std::size_t length = lead < 0x80   ? 1
                               : lead < 0xC2 ? 0
                               : lead < 0xE0 ? 2
                               : lead < 0xF0 ? 3
                               : lead < 0xF5 ? 4
                                             : 0;
    if (length == 0 || k + length > text.size()) return k;
    unsigned code = length == 1 ? lead : lead & (0x7Fu >> length);
    for (std::size_t i = 1; i < length; ++i) {
      if ((byte(k + i) & 0xC0) != 0x80) return k;
      code = code << 6 | (byte(k + i) & 0x3F);
    }
    const bool overlong = (length == 3 && code < 0x800) || (length == 4 && code < 0x10000);
    if (overlong || code > 0x10FFFF || (code >= 0xD800 && code < 0xE000)) return k;
    k += length;
  }
  return k;
}

}  // namespace capsim
