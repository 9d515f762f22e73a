// SPDX-License-Identifier: BSD-3-Clause
#include "host_parts.hpp"

#include <pybind11/numpy.h>
#include <pybind11/stl.h>

#include <algorithm>
#include <span>
#include <string>
#include <utility>
#include <vector>

namespace py = pybind11;

namespace capsim::python {
namespace {

using Doubles = py::array_t<double, py::array::c_style | py::array::forcecast>;

/// A Python object that may be let go of in any thread.
class Held {
 public:
  explicit Held(py::object object)
      : object_(new py::object(std::move(object)), [](py::object* held) {
          const py::gil_scoped_acquire python;
          delete held;
        }) {}
  [[nodiscard]] py::object operator*() const { return *object_; }
  /// With the GIL: an object of its own with the same values.
  [[nodiscard]] Held copied() const { return Held(py::module_::import("copy").attr("deepcopy")(*object_)); }

 private:
  std::shared_ptr<py::object> object_;
};

py::array_t<double> vector_of(std::span<const double> values) {
  return py::array_t<double>(static_cast<py::ssize_t>(values.size()), values.data());
}

py::array_t<double> table_of(std::span<const double> values, std::size_t rows) {
  const std::vector<py::ssize_t> shape{static_cast<py::ssize_t>(rows),
                                       static_cast<py::ssize_t>(rows == 0 ? 0 : values.size() / rows)};
  return py::array_t<double>(shape, values.data());
}

/// Copies what Python gave back, which must hold so many numbers.
void copy_checked(const py::object& given, std::span<double> into, const std::string& what) {
  const auto array = given.cast<Doubles>();
  if (static_cast<std::size_t>(array.size()) != into.size())
    throw py::value_error(what + " gave " + std::to_string(array.size()) + " numbers; " + std::to_string(into.size()) +
                          " are needed");
  std::copy_n(array.data(), into.size(), into.begin());
}

class HostPart : public Part {
 public:
  HostPart(Held held, std::string name) : held_(std::move(held)), name_(std::move(name)) {}

  [[nodiscard]] std::string_view name() const noexcept override { return name_; }
  [[nodiscard]] std::unique_ptr<Part> clone() const override {
    const py::gil_scoped_acquire python;
    return std::make_unique<HostPart>(held_.copied(), name_);
  }
  void couplings(std::span<const double> x, Cliques& cliques) override {
    const py::gil_scoped_acquire python;
    for (const py::handle& clique : (*held_).attr("couplings")(vector_of(x))) {
      const auto coordinates = clique.cast<std::vector<int>>();
      for (const int coordinate : coordinates)
        if (coordinate < 0 || static_cast<std::size_t>(coordinate) >= x.size())
          throw py::value_error(name_ + ".couplings names coordinate " + std::to_string(coordinate) + "; there are " +
                                std::to_string(x.size()));
      cliques.add(coordinates);
    }
  }
  [[nodiscard]] double energy(std::span<const double> x) const override {
    const py::gil_scoped_acquire python;
    return (*held_).attr("energy")(vector_of(x)).cast<double>();
  }
  double gradient(std::span<const double> x, std::span<double> g) const override {
    const py::gil_scoped_acquire python;
    const py::array_t<double> at = vector_of(x);
    std::vector<double> own(x.size());
    copy_checked((*held_).attr("gradient")(at), own, name_ + ".gradient");
    for (std::size_t i = 0; i < own.size(); ++i) g[i] += own[i];
    return (*held_).attr("energy")(at).cast<double>();
  }
  void hessian(std::span<const double> x, Curvature curvature, Tangent& tangent) const override {
    const py::gil_scoped_acquire python;
    const char* method = curvature == Curvature::exact ? "hessian" : "positive_hessian";
    std::size_t k = 0;
    for (const py::handle& matrix : (*held_).attr(method)(vector_of(x))) {
      const auto array = matrix.cast<Doubles>();
      if (array.ndim() != 2 || array.shape(0) != array.shape(1))
        throw py::value_error(name_ + ".hessian gave something that is not a square matrix");
      tangent.add(k++, array.data());
    }
  }
  void move_anchors(double angle, Point shift) override {
    const py::gil_scoped_acquire python;
    (*held_).attr("move_anchors")(angle, py::make_tuple(shift[0], shift[1]));
  }
  void set_day(double day) override {
    const py::gil_scoped_acquire python;
    (*held_).attr("set_day")(day);
  }
  [[nodiscard]] py::object object() const { return *held_; }

 private:
  Held held_;
  std::string name_;
};

class HostLaw : public ContractionLaw {
 public:
  HostLaw(Held held, std::string name, std::size_t variables)
      : held_(std::move(held)), name_(std::move(name)), variables_(variables) {}

  [[nodiscard]] std::string_view name() const noexcept override { return name_; }
  [[nodiscard]] std::size_t variables() const noexcept override { return variables_; }
  void start(std::span<const double> cells, std::span<double> y) const override {
    const py::gil_scoped_acquire python;
    copy_checked((*held_).attr("start")(vector_of(cells)), y, name_ + ".start");
  }
  void rate(double day, std::span<const double> y, std::span<const double> stretches,
            std::span<double> dydt) const override {
    const py::gil_scoped_acquire python;
    copy_checked((*held_).attr("rate")(day, table_of(y, variables_), table_of(stretches, fibre_families)), dydt,
                 name_ + ".rate");
  }
  void apply(std::span<const double> y, FibrousTissue::Fields& fields) const override {
    const py::gil_scoped_acquire python;
    const py::dict given = (*held_).attr("apply")(table_of(y, variables_));
    const std::size_t points = fields.fraction.size();
    for (const auto& [key, value] : given) {
      const auto field = key.cast<std::string>();
      const std::string what = name_ + ".apply: " + field;
      const auto values = py::reinterpret_borrow<py::object>(value);
      if (field == "fraction") {
        copy_checked(values, fields.fraction, what);
      } else if (field == "natural_stretch") {
        put(values, fields.natural, points, what);
      } else if (field == "active_tension_mN_per_mm") {
        put(values, fields.active, points, what);
      } else {
        throw py::value_error(what + " is not one of fraction, natural_stretch, active_tension_mN_per_mm");
      }
    }
  }

 private:
  static void put(const py::object& given, std::array<std::vector<double>, fibre_families>& fields, std::size_t points,
                  const std::string& what) {
    std::vector<double> all(fibre_families * points);
    copy_checked(given, all, what);
    for (std::size_t i = 0; i < fibre_families; ++i) {
      const auto begin = all.begin() + static_cast<std::ptrdiff_t>(i * points);
      fields[i].assign(begin, begin + static_cast<std::ptrdiff_t>(points));
    }
  }

  Held held_;
  std::string name_;
  std::size_t variables_;
};

}  // namespace

std::shared_ptr<const Part> host_part(py::object part) {
  std::string name = py::str(part.attr("name"));
  return std::make_shared<HostPart>(Held(std::move(part)), std::move(name));
}

std::shared_ptr<const ContractionLaw> host_law(py::object law) {
  std::string name = py::str(law.attr("name"));
  const auto variables = law.attr("variables").cast<std::size_t>();
  return std::make_shared<HostLaw>(Held(std::move(law)), std::move(name), variables);
}

SimulationExtras host_extras(const py::list& parts, const py::object& law) {
  SimulationExtras extras;
  for (const py::handle& part : parts) extras.parts.push_back(host_part(py::reinterpret_borrow<py::object>(part)));
  if (!law.is_none()) extras.law = host_law(law);
  return extras;
}

py::object object_of(const Part& part) { return dynamic_cast<const HostPart&>(part).object(); }

}  // namespace capsim::python
