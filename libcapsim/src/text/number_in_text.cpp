// SPDX-License-Identifier: BSD-3-Clause
#include "text/number_in_text.hpp"

#include <array>
#include <cstdio>

namespace capsim {
namespace {

/// As printf writes it in the C locale: what other locales can change is the decimal point alone.
std::string plain(const std::string& conversion, double value) {
  std::array<char, 400> printed{};  // %f of the largest double has 309 digits before the point
  std::snprintf(printed.data(), printed.size(), conversion.c_str(), value);
  std::string text;
  for (const char c : std::string_view(printed.data())) {
    const bool is_number = std::string_view("+-0123456789einfa").find(c) != std::string_view::npos;
    if (is_number)
      text += c;
    else if (text.empty() || text.back() != '.')
      text += '.';
  }
  return text;
}

}  // namespace

std::string with_numbers(std::string_view sentence, std::initializer_list<double> values) {
  std::string text;
  const double* next = values.begin();
  for (std::size_t k = 0; k < sentence.size(); ++k) {
    const std::size_t end = sentence.find_first_not_of("0123456789.", k + 1);
    const bool is_conversion = sentence[k] == '%' && end != std::string_view::npos &&
                               std::string_view("fg%").find(sentence[end]) != std::string_view::npos;
    if (!is_conversion) {
      text += sentence[k];
      continue;
    }
    const std::string conversion(sentence.substr(k, end + 1 - k));
    if (conversion == "%%")
      text += '%';
    else
      text += next != values.end() ? plain(conversion, *next++) : conversion;
    k = end;
  }
  return text;
}

}  // namespace capsim
