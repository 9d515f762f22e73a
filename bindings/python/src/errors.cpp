// SPDX-License-Identifier: BSD-3-Clause
#include <cstring>
#include <exception>
#include <string>
#include <utility>

#include "bindings.hpp"
#include "capsim/error.hpp"
#include "capsim/results_file.hpp"
#include "capsim/simulation.hpp"

namespace py = pybind11;

namespace capsim::python {
namespace {

/// Texts may hold paths that are not UTF-8.
py::str text_of(const char* text) {
  return py::reinterpret_steal<py::str>(
      PyUnicode_DecodeUTF8(text, static_cast<Py_ssize_t>(std::strlen(text)), "replace"));
}

/// Raises capsim.errors.<name>(arguments...).
template <class... Arguments>
void raise(const char* name, Arguments&&... arguments) {
  const py::object type = py::module_::import("capsim.errors").attr(name);
  const py::object error = type(std::forward<Arguments>(arguments)...);
  PyErr_SetObject(type.ptr(), error.ptr());
}

void translate(std::exception_ptr thrown) {
  try {
    if (thrown) std::rethrow_exception(thrown);
  } catch (const ScenarioError& error) {
    raise("ScenarioError", to_python(error.violations()), text_of(error.what()));
  } catch (const ResultsFileError& error) {
    raise("ResultsFileError", text_of(error.what()));
  } catch (const ArgumentError& error) {
    raise("ArgumentError", text_of(error.what()));
  } catch (const CheckpointError& error) {
    raise("CheckpointError", text_of(error.what()));
  } catch (const InternalError& error) {
    raise("InternalError", text_of(error.what()));
  } catch (const Error& error) {
    raise("Error", text_of(error.what()));
  }
}

}  // namespace

py::list to_python(const std::vector<Violation>& violations) {
  const py::object type = py::module_::import("capsim.errors").attr("Violation");
  py::list list;
  for (const Violation& v : violations)
    list.append(type(text_of(v.path.c_str()), text_of(v.value.c_str()), text_of(v.limit.c_str()),
                     text_of(v.hint.c_str()), text_of(v.to_string().c_str())));
  return list;
}

void bind_errors(py::module_&) { py::register_local_exception_translator(translate); }

}  // namespace capsim::python
