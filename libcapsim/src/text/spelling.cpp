// SPDX-License-Identifier: BSD-3-Clause
#include "text/spelling.hpp"

#include <algorithm>
#include <array>
#include <cstddef>
#include <utility>

namespace capsim {
namespace {

/// Longer words are not compared; no key is nearly that long.
constexpr std::size_t longest_word = 64;

char lower(char c) { return c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c; }

/// One word is the start or the end of the other, and at least half of it.
bool is_part(std::string_view a, std::string_view b) {
  if (a.size() > b.size()) std::swap(a, b);
  if (2 * a.size() < b.size()) return false;
  return edit_distance(a, b.substr(0, a.size())) == 0 || edit_distance(a, b.substr(b.size() - a.size())) == 0;
}

}  // namespace

int edit_distance(std::string_view a, std::string_view b) {
  a = a.substr(0, longest_word);
  b = b.substr(0, longest_word);
  std::array<std::array<int, longest_word + 1>, longest_word + 1> cost;
  for (std::size_t i = 0; i <= a.size(); ++i)
    for (std::size_t j = 0; j <= b.size(); ++j) {
      if (i == 0 || j == 0) {
        cost[i][j] = static_cast<int>(i + j);
        continue;
      }
      const bool same = lower(a[i - 1]) == lower(b[j - 1]);
      cost[i][j] = std::min({cost[i - 1][j] + 1, cost[i][j - 1] + 1, cost[i - 1][j - 1] + (same ? 0 : 1)});
      if (i > 1 && j > 1 && lower(a[i - 1]) == lower(b[j - 2]) && lower(a[i - 2]) == lower(b[j - 1]))
        cost[i][j] = std::min(cost[i][j], cost[i - 2][j - 2] + 1);
    }
  return cost[a.size()][b.size()];
}

std::string_view nearest_word(std::string_view word, const std::vector<std::string_view>& allowed) {
  if (word.empty() || word.size() > longest_word) return {};
  std::string_view nearest;
  int least = std::max(2, static_cast<int>(word.size()) / 3) + 1;
  for (const std::string_view candidate : allowed) {
    if (const int distance = edit_distance(word, candidate);
        distance < least && distance < static_cast<int>(candidate.size())) {
      least = distance;
      nearest = candidate;
    }
  }
  if (!nearest.empty()) return nearest;
  for (const std::string_view candidate : allowed)
    if (is_part(word, candidate)) return candidate;
  return {};
}

}  // namespace capsim
