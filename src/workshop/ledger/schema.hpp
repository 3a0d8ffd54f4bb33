// SPDX-License-Identifier: GPL-3.0-or-later
// The tables, one step per version, and what makes a file a ledger.
#pragma once

#include "workshop/ledger/database.hpp"

#include <span>

namespace pourwright::ledger {

/// Step i brings version i to version i + 1. Steps are never changed once released, only followed by others.
std::span<const char* const> schema_steps();

/// Refuses what is no ledger, is damaged or comes from a later version. Brings older ones up to date when
/// `update`.
std::optional<Problem> settle_schema(const Database& database, bool update);

}  // namespace pourwright::ledger
