// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  HDF5 as a good guest: one lock, no printing, every identifier closed, every failure told.
///
/// The serial HDF5 library is not thread-safe and keeps process-wide error state that belongs to
/// the host (another part of the program may use HDF5 too). A `Session` holds the one lock for as
/// long as HDF5 is used, silences the error stack, and hands it back as it was.
/// Private to the library; included by results_file.cpp only.

#include <hdf5.h>

#include <cstddef>
#include <cstdint>
#include <limits>
#include <mutex>
#include <string>
#include <utility>
#include <vector>

#include "capsim/error.hpp"

namespace capsim::hdf5 {

/// An HDF5 call that failed, or content that is not what it should be.
class Failure : public Error {
 public:
  using Error::Error;
};

/// The lock and the silence around every use of HDF5.
class Session {
 public:
  Session() : lock_(process_mutex()) {
    H5open();
    stack_ = H5Eget_current_stack();
    H5Eauto_is_v2(H5E_DEFAULT, &is_second_version_);
    if (is_second_version_)
      H5Eget_auto2(H5E_DEFAULT, &second_, &data_);
    else
      H5Eget_auto1(&first_, &data_);
    H5Eset_auto2(H5E_DEFAULT, nullptr, nullptr);
  }
  ~Session() {
    if (is_second_version_)
      H5Eset_auto2(H5E_DEFAULT, second_, data_);
    else
      H5Eset_auto1(first_, data_);
    if (stack_ >= 0) H5Eset_current_stack(stack_);  // also closes it
  }
  Session(const Session&) = delete;
  Session& operator=(const Session&) = delete;

 private:
  static std::mutex& process_mutex() {
    static std::mutex mutex;
    return mutex;
  }
  std::lock_guard<std::mutex> lock_;
  hid_t stack_ = -1;
  unsigned is_second_version_ = 1;
  H5E_auto2_t second_ = nullptr;
  H5E_auto1_t first_ = nullptr;
  void* data_ = nullptr;
};

/// The innermost reason on the error stack, as HDF5 words it.
inline std::string last_reason() {
  std::string reason;
  const auto keep_first = [](unsigned, const H5E_error2_t* entry, void* text) -> herr_t {
    auto& kept = *static_cast<std::string*>(text);
    if (kept.empty() && entry->desc) kept = entry->desc;
    return 0;
  };
  H5Ewalk2(H5E_DEFAULT, H5E_WALK_UPWARD, keep_first, &reason);
  return reason.empty() ? "no reason given" : reason;
}

/// Turns a negative return value into a Failure that says what was being done.
template <class Result>
Result must(Result result, const std::string& doing) {
  if (result < 0) throw Failure(doing + " (HDF5: " + last_reason() + ")");
  return result;
}

/// An open HDF5 identifier; closes itself.
class Handle {
 public:
  using Close = herr_t (*)(hid_t);
  Handle(hid_t id, Close close, const std::string& doing) : id_(must(id, doing)), close_(close) {}
  Handle(Handle&& other) noexcept : id_(std::exchange(other.id_, -1)), close_(other.close_) {}
  Handle& operator=(Handle&&) = delete;
  ~Handle() {
    if (id_ >= 0) close_(id_);
  }
  operator hid_t() const noexcept { return id_; }  // NOLINT: used as the identifier it is

 private:
  hid_t id_;
  Close close_;
};

using Shape = std::vector<hsize_t>;

/// The type of every text: variable length, UTF-8.
inline Handle text_type() {
  Handle type(H5Tcopy(H5T_C_S1), H5Tclose, "making the text type");
  must(H5Tset_size(type, H5T_VARIABLE), "making the text type");
  must(H5Tset_cset(type, H5T_CSET_UTF8), "making the text type");
  return type;
}

inline Handle space_of(const Shape& shape) {
  if (shape.empty()) return {H5Screate(H5S_SCALAR), H5Sclose, "making a scalar"};
  return {H5Screate_simple(static_cast<int>(shape.size()), shape.data(), nullptr), H5Sclose, "making an array"};
}

/// Text ends at its first NUL in HDF5; refuse to lose the rest silently.
inline const char* whole_text(const std::string& text, const std::string& name) {
  if (text.find('\0') != std::string::npos) throw Failure(name + " contains a NUL character");
  return text.c_str();
}

// ------------------------------------------------------------------------------------- writing

inline Handle make_group(hid_t parent, const std::string& name) {
  return {H5Gcreate2(parent, name.c_str(), H5P_DEFAULT, H5P_DEFAULT, H5P_DEFAULT), H5Gclose, "writing " + name};
}

inline Handle write_dataset(hid_t parent, const std::string& name, hid_t file_type, hid_t memory_type,
                            const Shape& shape, const void* values) {
  const std::string doing = "writing " + name;
  const Handle space = space_of(shape);
  // Without the time of writing: the same run gives the same bytes whenever it is saved.
  const Handle creation(H5Pcreate(H5P_DATASET_CREATE), H5Pclose, doing);
  must(H5Pset_obj_track_times(creation, false), doing);
  Handle set(H5Dcreate2(parent, name.c_str(), file_type, space, H5P_DEFAULT, creation, H5P_DEFAULT), H5Dclose, doing);
  if (must(H5Sget_simple_extent_npoints(space), doing) > 0)
    must(H5Dwrite(set, memory_type, H5S_ALL, H5S_ALL, H5P_DEFAULT, values), doing);
  return set;
}

inline Handle write_texts(hid_t parent, const std::string& name, const std::vector<std::string>& texts) {
  std::vector<const char*> pointers;
  for (const std::string& text : texts) pointers.push_back(whole_text(text, name));
  const Handle type = text_type();
  return write_dataset(parent, name, type, type, {texts.size()}, pointers.data());
}

inline Handle write_text(hid_t parent, const std::string& name, const std::string& text) {
  const char* pointer = whole_text(text, name);
  const Handle type = text_type();
  return write_dataset(parent, name, type, type, {}, &pointer);
}

/// Doubles are stored bit for bit (little-endian IEEE 754): NaN, infinities and -0 included.
inline Handle write_doubles(hid_t parent, const std::string& name, const Shape& shape, const double* values) {
  return write_dataset(parent, name, H5T_IEEE_F64LE, H5T_NATIVE_DOUBLE, shape, values);
}

inline Handle write_integer(hid_t parent, const std::string& name, std::int64_t value) {
  return write_dataset(parent, name, H5T_STD_I64LE, H5T_NATIVE_INT64, {}, &value);
}

inline void write_attribute(hid_t object, const std::string& name, const std::string& text) {
  const char* pointer = whole_text(text, name);
  const std::string doing = "writing attribute " + name;
  const Handle type = text_type();
  const Handle space = space_of({});
  const Handle attribute(H5Acreate2(object, name.c_str(), type, space, H5P_DEFAULT, H5P_DEFAULT), H5Aclose, doing);
  must(H5Awrite(attribute, type, &pointer), doing);
}

inline void write_attribute(hid_t object, const std::string& name, std::int64_t value) {
  const std::string doing = "writing attribute " + name;
  const Handle space = space_of({});
  const Handle attribute(H5Acreate2(object, name.c_str(), H5T_STD_I64LE, space, H5P_DEFAULT, H5P_DEFAULT), H5Aclose,
                         doing);
  must(H5Awrite(attribute, H5T_NATIVE_INT64, &value), doing);
}

/// A text of fixed length, as HDF5's own conventions have it.
inline void write_fixed_attribute(hid_t object, const std::string& name, const std::string& text) {
  const std::string doing = "writing attribute " + name;
  const Handle type(H5Tcopy(H5T_C_S1), H5Tclose, doing);
  must(H5Tset_size(type, text.size() + 1), doing);
  const Handle space = space_of({});
  const Handle attribute(H5Acreate2(object, name.c_str(), type, space, H5P_DEFAULT, H5P_DEFAULT), H5Aclose, doing);
  must(H5Awrite(attribute, type, text.c_str()), doing);
}

/// Names the dimensions of a dataset: one scale of `group` for each, in the form that HDF5's dimension scales and
/// netCDF-4 share.
inline void name_dimensions(hid_t group, hid_t dataset, const std::vector<std::string>& scales) {
  const std::string doing = "naming dimensions";
  std::vector<hobj_ref_t> references(scales.size());
  std::vector<hvl_t> list(scales.size());
  for (std::size_t k = 0; k < scales.size(); ++k) {
    must(H5Rcreate(&references[k], group, scales[k].c_str(), H5R_OBJECT, -1), doing);
    list[k] = {1, &references[k]};
  }
  const Handle type(H5Tvlen_create(H5T_STD_REF_OBJ), H5Tclose, doing);
  const Handle space = space_of({scales.size()});
  const Handle attribute(H5Acreate2(dataset, "DIMENSION_LIST", type, space, H5P_DEFAULT, H5P_DEFAULT), H5Aclose, doing);
  must(H5Awrite(attribute, type, list.data()), doing);
}

// ------------------------------------------------------------------------------------- reading

inline bool has_link(hid_t parent, const std::string& name) {
  return must(H5Lexists(parent, name.c_str(), H5P_DEFAULT), "looking for " + name) > 0;
}

inline bool has_attribute(hid_t object, const std::string& name) {
  return must(H5Aexists(object, name.c_str()), "looking for attribute " + name) > 0;
}

inline Handle open_group(hid_t parent, const std::string& name) {
  if (!has_link(parent, name)) throw Failure("group " + name + " is missing");
  return {H5Gopen2(parent, name.c_str(), H5P_DEFAULT), H5Gclose, name + " is not a readable group"};
}

inline Handle open_dataset(hid_t parent, const std::string& name) {
  if (!has_link(parent, name)) throw Failure("dataset " + name + " is missing");
  return {H5Dopen2(parent, name.c_str(), H5P_DEFAULT), H5Dclose, name + " is not a readable dataset"};
}

inline Shape shape_of_space(hid_t space, const std::string& name) {
  if (must(static_cast<int>(H5Sget_simple_extent_type(space)), "reading " + name) == H5S_NULL)
    throw Failure(name + " is empty");
  Shape shape(static_cast<std::size_t>(must(H5Sget_simple_extent_ndims(space), "reading " + name)));
  if (!shape.empty()) must(H5Sget_simple_extent_dims(space, shape.data(), nullptr), "reading " + name);
  return shape;
}

inline Shape shape_of(hid_t dataset, const std::string& name) {
  const Handle space(H5Dget_space(dataset), H5Sclose, "reading " + name);
  return shape_of_space(space, name);
}

/// Refuses shapes whose size in bytes can't be counted.
inline std::size_t number_of_values(const Shape& shape, const std::string& name) {
  constexpr std::size_t limit = std::numeric_limits<std::size_t>::max() / (2 * sizeof(double));
  std::size_t count = 1;
  for (const hsize_t extent : shape) {
    if (extent != 0 && count > limit / extent) throw Failure(name + " has an impossible shape");
    count *= static_cast<std::size_t>(extent);
  }
  return count;
}

/// HDF5 converts types silently; take only what is stored as expected.
inline void must_be_double(hid_t type, const std::string& name) {
  if (H5Tget_class(type) != H5T_FLOAT || H5Tget_size(type) != sizeof(double))
    throw Failure(name + " is not made of 64-bit floating-point numbers");
}

inline void must_be_integer(hid_t type, const std::string& name) {
  if (H5Tget_class(type) != H5T_INTEGER || H5Tget_size(type) > sizeof(std::int64_t) ||
      (H5Tget_size(type) == sizeof(std::int64_t) && H5Tget_sign(type) != H5T_SGN_2))
    throw Failure(name + " is not a signed integer of at most 64 bits");
}

inline void must_be_text(hid_t type, const std::string& name) {
  if (H5Tget_class(type) != H5T_STRING || H5Tis_variable_str(type) <= 0)
    throw Failure(name + " is not a variable-length text");
}

inline std::vector<double> read_doubles(hid_t dataset, const std::string& name) {
  const Handle type(H5Dget_type(dataset), H5Tclose, "reading " + name);
  must_be_double(type, name);
  std::vector<double> values(number_of_values(shape_of(dataset, name), name));
  if (!values.empty())
    must(H5Dread(dataset, H5T_NATIVE_DOUBLE, H5S_ALL, H5S_ALL, H5P_DEFAULT, values.data()), "reading " + name);
  return values;
}

inline double read_double(hid_t parent, const std::string& name) {
  const Handle set = open_dataset(parent, name);
  if (!shape_of(set, name).empty()) throw Failure(name + " is not a single value");
  return read_doubles(set, name).front();
}

inline std::int64_t read_integer(hid_t parent, const std::string& name) {
  const Handle set = open_dataset(parent, name);
  const Handle type(H5Dget_type(set), H5Tclose, "reading " + name);
  must_be_integer(type, name);
  if (!shape_of(set, name).empty()) throw Failure(name + " is not a single value");
  std::int64_t value = 0;
  must(H5Dread(set, H5T_NATIVE_INT64, H5S_ALL, H5S_ALL, H5P_DEFAULT, &value), "reading " + name);
  return value;
}

/// Takes over a text that HDF5 allocated.
inline std::string taken(char* text, const std::string& name) {
  if (!text) throw Failure(name + " holds no text");
  std::string copy(text);
  H5free_memory(text);
  return copy;
}

inline std::string read_text(hid_t parent, const std::string& name) {
  const Handle set = open_dataset(parent, name);
  const Handle stored(H5Dget_type(set), H5Tclose, "reading " + name);
  must_be_text(stored, name);
  if (!shape_of(set, name).empty()) throw Failure(name + " is not a single text");
  const Handle type = text_type();
  char* text = nullptr;
  must(H5Dread(set, type, H5S_ALL, H5S_ALL, H5P_DEFAULT, &text), "reading " + name);
  return taken(text, name);
}

inline Handle open_attribute(hid_t object, const std::string& name) {
  if (!has_attribute(object, name)) throw Failure("attribute " + name + " is missing");
  Handle attribute(H5Aopen(object, name.c_str(), H5P_DEFAULT), H5Aclose, "reading attribute " + name);
  const Handle space(H5Aget_space(attribute), H5Sclose, "reading attribute " + name);
  if (!shape_of_space(space, "attribute " + name).empty())
    throw Failure("attribute " + name + " is not a single value");
  return attribute;
}

inline std::string read_text_attribute(hid_t object, const std::string& name) {
  const Handle attribute = open_attribute(object, name);
  const Handle stored(H5Aget_type(attribute), H5Tclose, "reading attribute " + name);
  must_be_text(stored, "attribute " + name);
  const Handle type = text_type();
  char* text = nullptr;
  must(H5Aread(attribute, type, &text), "reading attribute " + name);
  return taken(text, "attribute " + name);
}

inline std::int64_t read_integer_attribute(hid_t object, const std::string& name) {
  const Handle attribute = open_attribute(object, name);
  const Handle type(H5Aget_type(attribute), H5Tclose, "reading attribute " + name);
  must_be_integer(type, "attribute " + name);
  std::int64_t value = 0;
  must(H5Aread(attribute, H5T_NATIVE_INT64, &value), "reading attribute " + name);
  return value;
}

/// The names of what a group links to, in HDF5's own order.
inline std::vector<std::string> names_in(hid_t group, const std::string& name) {
  std::vector<std::string> names;
  const auto keep = [](hid_t, const char* link, const H5L_info_t*, void* all) -> herr_t {
    static_cast<std::vector<std::string>*>(all)->emplace_back(link);
    return 0;
  };
  hsize_t position = 0;
  must(H5Literate(group, H5_INDEX_NAME, H5_ITER_INC, &position, keep, &names), "listing " + name);
  return names;
}

// -------------------------------------------------------------------------------- file images

/// A file that lives in memory only: an interrupted or refused write can never leave HDF5 holding
/// a broken file, and no lock is put on a file that somebody else has open.
inline Handle in_memory_access() {
  Handle access(H5Pcreate(H5P_FILE_ACCESS), H5Pclose, "preparing a file in memory");
  constexpr std::size_t growth_bytes = 1 << 20;
  must(H5Pset_fapl_core(access, growth_bytes, false), "preparing a file in memory");
  must(H5Pset_fclose_degree(access, H5F_CLOSE_STRONG), "preparing a file in memory");
  return access;
}

/// HDF5 keeps open files apart by name; no two images may share one.
inline std::string image_name() {
  static std::uint64_t count = 0;  // guarded by the session's lock
  return "capsim-result-in-memory-" + std::to_string(++count);
}

inline Handle create_image() {
  const Handle access = in_memory_access();
  return {H5Fcreate(image_name().c_str(), H5F_ACC_TRUNC, H5P_DEFAULT, access), H5Fclose, "making a file in memory"};
}

inline std::vector<char> image_bytes(hid_t file) {
  must(H5Fflush(file, H5F_SCOPE_GLOBAL), "finishing the file");
  std::vector<char> bytes(static_cast<std::size_t>(must(H5Fget_file_image(file, nullptr, 0), "finishing the file")));
  must(H5Fget_file_image(file, bytes.data(), bytes.size()), "finishing the file");
  return bytes;
}

inline Handle open_image(std::vector<char>& bytes) {
  const Handle access = in_memory_access();
  must(H5Pset_file_image(access, bytes.data(), bytes.size()), "reading the file");
  return {H5Fopen(image_name().c_str(), H5F_ACC_RDONLY, access), H5Fclose, "it is damaged or cut short"};
}

}  // namespace capsim::hdf5
