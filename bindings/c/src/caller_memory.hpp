// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  Copying into the caller's memory: texts, numbers, and structs that may be older or newer.

#include <algorithm>
#include <cstddef>
#include <cstring>
#include <span>
#include <string>
#include <string_view>

#include "capsim.h"
#include "last_error.hpp"

namespace capsim::c_interface {

/// A pointer that must not be null.
inline const char* given(const char* text, const char* name) {
  if (text == nullptr) throw Refusal(CAPSIM_BAD_ARGUMENT, std::string(name) + " is NULL");
  return text;
}
/// A list that may only be null when it is empty.
template <class Item>
std::span<const Item> given_list(const Item* items, std::size_t count, const char* name) {
  if (items == nullptr && count != 0) throw Refusal(CAPSIM_BAD_ARGUMENT, std::string(name) + " is NULL");
  return {items, count};
}

/// One rule for all buffers: what is needed is told, and copied only when all of it fits.
inline capsim_status copy_numbers(std::span<const double> values, double* buffer, std::size_t size,
                                  std::size_t* needed) noexcept {
  if (buffer == nullptr && (size != 0 || needed == nullptr)) return CAPSIM_BAD_ARGUMENT;
  if (needed != nullptr) *needed = values.size();
  if (buffer == nullptr) return CAPSIM_OK;
  if (size < values.size()) return CAPSIM_BUFFER_TOO_SMALL;
  std::copy(values.begin(), values.end(), buffer);
  return CAPSIM_OK;
}

/// The text and a NUL. A buffer that is too small gets an empty text, never a part of it.
inline capsim_status copy_text(std::string_view text, char* buffer, std::size_t size, std::size_t* needed) noexcept {
  if (buffer == nullptr && (size != 0 || needed == nullptr)) return CAPSIM_BAD_ARGUMENT;
  if (needed != nullptr) *needed = text.size() + 1;
  if (buffer == nullptr) return CAPSIM_OK;
  if (size < text.size() + 1) {
    if (size > 0) buffer[0] = '\0';
    return CAPSIM_BUFFER_TOO_SMALL;
  }
  std::copy(text.begin(), text.end(), buffer);
  buffer[text.size()] = '\0';
  return CAPSIM_OK;
}

/// Bytes from the start of a struct to the end of its member `last`: a struct that grows keeps the
/// size of its first version, the shortest that callers can have.
#define CAPSIM_SIZE_UP_TO(type, last) (offsetof(type, last) + ::capsim::c_interface::size_of_member(&type::last))

template <class Struct, class Member>
constexpr std::size_t size_of_member(Member Struct::*) noexcept {
  return sizeof(Member);
}

/// Fills the caller's struct, which may be shorter or longer than ours. Both start with struct_size.
template <class Struct>
capsim_status fill_struct(Struct* given, Struct value, std::size_t first_size) noexcept {
  if (given == nullptr || given->struct_size < first_size) return CAPSIM_BAD_ARGUMENT;
  value.struct_size = given->struct_size;
  std::memset(static_cast<void*>(given), 0, value.struct_size);
  std::memcpy(static_cast<void*>(given), &value, std::min(value.struct_size, sizeof value));
  return CAPSIM_OK;
}

/// Reads the caller's struct into ours. What a newer struct has beyond ours must be zero: it asks
/// for something that this library does not know.
template <class Struct>
capsim_status read_struct(const Struct* given, Struct& value, std::size_t first_size) noexcept {
  if (given == nullptr || given->struct_size < first_size) return CAPSIM_BAD_ARGUMENT;
  const auto* bytes = reinterpret_cast<const unsigned char*>(given);
  for (std::size_t k = sizeof value; k < given->struct_size; ++k)
    if (bytes[k] != 0) return CAPSIM_BAD_ARGUMENT;
  std::memcpy(static_cast<void*>(&value), given, std::min(given->struct_size, sizeof value));
  return CAPSIM_OK;
}

}  // namespace capsim::c_interface
