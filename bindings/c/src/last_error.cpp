// SPDX-License-Identifier: BSD-3-Clause
#include "last_error.hpp"

#include "capsim/model.hpp"
#ifdef CAPSIM_C_RESULTS_FILE
#include "capsim/results_file.hpp"
#endif

namespace capsim::c_interface {

capsim_status keep_current_exception(LastError& error) noexcept {
  try {
    throw;
  } catch (const Refusal& refusal) {
    return error.keep(refusal.status(), refusal.what(), refusal.violations());
  } catch (const ScenarioError& wrong) {
    return error.keep(CAPSIM_INVALID_SCENARIO, wrong.what(), wrong.violations());
#ifdef CAPSIM_C_RESULTS_FILE
  } catch (const ResultsFileError& failed) {
    return error.keep(CAPSIM_FILE_ERROR, failed.what());
#endif
  } catch (const ModelError& none) {
    return error.keep(CAPSIM_NO_REST_STATE, none.what());
  } catch (const ArgumentError& mistaken) {
    return error.keep(CAPSIM_BAD_ARGUMENT, mistaken.what());
  } catch (const std::bad_alloc&) {
    return error.keep(CAPSIM_OUT_OF_MEMORY, "out of memory");
  } catch (const std::exception& other) {
    return error.keep(CAPSIM_INTERNAL_ERROR, other.what());
  } catch (...) {
    return error.keep(CAPSIM_INTERNAL_ERROR, "an exception of unknown kind");
  }
}

}  // namespace capsim::c_interface
