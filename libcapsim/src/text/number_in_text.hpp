// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  Numbers in messages and names, with a decimal point whatever the locale of the host.

#include <initializer_list>
#include <string>
#include <string_view>

namespace capsim {

/// `sentence` with each `%.2f`, `%.4g` ... replaced by the next of `values`; no grouping, `%%` is a
/// per cent sign. More values than places, or fewer, is a mistake of the caller: the rest is dropped
/// or left as it stands.
[[nodiscard]] std::string with_numbers(std::string_view sentence, std::initializer_list<double> values);

}  // namespace capsim
