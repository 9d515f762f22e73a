// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  What to do for each alternative of a variant; one that is forgotten does not compile.

namespace capsim {

/// std::visit(Cases{[](const Circle& circle) { ... }, [](const Ellipse& ellipse) { ... }, ...}, opening)
template <class... Visits>
struct Cases : Visits... {
  using Visits::operator()...;
};
template <class... Visits>
Cases(Visits...) -> Cases<Visits...>;

}  // namespace capsim
