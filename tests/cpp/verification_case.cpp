// SPDX-License-Identifier: BSD-3-Clause
#include "verification_case.hpp"

#include <cstdlib>
#include <fstream>
#include <limits>
#include <nlohmann/json.hpp>
#include <stdexcept>

namespace capsim::checks {

using Json = nlohmann::json;

struct VerificationCase::Data {
  Json json;
};

namespace {

const Json& cases() {
  static const Json file = [] {
    std::ifstream in(std::string(CAPSIM_EVIDENCE_DIR) + "/verification_cases.json");
    return Json::parse(in);
  }();
  return file.at("cases");
}

double number(const Json& value) {
  if (value.is_string() && value.get<std::string>() == "inf") return std::numeric_limits<double>::infinity();
  return value.get<double>();
}

}  // namespace

VerificationCase::VerificationCase(std::string_view id) : id_(id), data_(std::make_unique<Data>()) {
  for (const Json& one : cases())
    if (one.at("id").get<std::string>() == id) data_->json = one;
  if (data_->json.is_null()) throw std::runtime_error("no verification case " + id_);
}
VerificationCase::~VerificationCase() = default;
VerificationCase::VerificationCase(VerificationCase&&) noexcept = default;

double VerificationCase::input(std::string_view name) const {
  return number(data_->json.at("inputs").at(std::string(name)));
}

std::vector<double> VerificationCase::inputs(std::string_view name) const {
  return data_->json.at("inputs").at(std::string(name)).get<std::vector<double>>();
}

bool VerificationCase::has_expected(std::string_view name) const {
  return data_->json.at("expected").contains(std::string(name));
}

double VerificationCase::expected(std::string_view name) const {
  return number(data_->json.at("expected").at(std::string(name)));
}

std::vector<double> VerificationCase::expected_list(std::string_view name) const {
  return data_->json.at("expected").at(std::string(name)).get<std::vector<double>>();
}

double VerificationCase::expected(std::string_view name, std::string_view part) const {
  return number(data_->json.at("expected").at(std::string(name)).at(std::string(part)));
}

double VerificationCase::tolerance(std::string_view word) const {
  const std::string text = data_->json.at("tolerance").get<std::string>();
  std::size_t at = word.empty() ? 0 : text.find(word);
  if (at != std::string::npos) at = text.find_first_of("0123456789", at + word.size());
  if (at == std::string::npos) throw std::runtime_error(id_ + ": no tolerance '" + std::string(word) + "' in: " + text);
  char* end = nullptr;
  const double value = std::strtod(text.c_str() + at, &end);
  while (*end == ' ') ++end;
  return *end == '%' ? value / 100 : value;
}

std::string VerificationCase::origin() const { return data_->json.at("source").get<std::string>(); }

std::string VerificationCase::cross_check() const { return data_->json.at("cross_check").get<std::string>(); }

std::string VerificationCase::source() const { return id_ + ": " + origin() + " (cross-check: " + cross_check() + ")"; }

std::vector<std::string> VerificationCase::all(std::string_view prefix) {
  std::vector<std::string> found;
  for (const Json& one : cases())
    if (const std::string id = one.at("id").get<std::string>(); id.rfind(prefix, 0) == 0) found.push_back(id);
  return found;
}

}  // namespace capsim::checks
