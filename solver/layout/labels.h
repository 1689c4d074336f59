#pragma once
// Labels to things. Of a million labels a look-up costs the memory it touches, and an ordinary map touches a chain of it: here the things stand in
// one vector in the order they were entered, and a table of at least twice as many places holds a piece of each label's hash beside its number. A
// place that is taken by another label is passed over for the next one.

#include <cstdint>
#include <functional>
#include <string_view>
#include <vector>

#include "solver/layout/layout.h"

namespace ebb::layout {

/// What a label names, and where that was written. The label is seen, not kept.
struct Named {
    std::string_view label;
    Ref ref;
    Place place;
};

class Labels {
public:
    /// Room for so many things; to be called once, before the first is entered.
    void reserve(std::size_t things) {
        std::size_t places = 16;
        while (places < 2 * things) places *= 2;
        table_.assign(places, {});
        named_.reserve(things);
    }

    /// Enters a thing; what has its label already, else nothing.
    const Named* enter(const Named& thing) {
        const std::uint64_t hash = hash_of(thing.label);
        Slot& slot = table_[place_of(thing.label, hash)];
        if (slot.number >= 0) return &named_[static_cast<std::size_t>(slot.number)];
        slot = {static_cast<std::uint32_t>(hash), static_cast<std::int32_t>(named_.size())};
        named_.push_back(thing);
        return nullptr;
    }

    const Named* find(std::string_view label) const {
        if (table_.empty()) return nullptr;
        const Slot& slot = table_[place_of(label, hash_of(label))];
        return slot.number < 0 ? nullptr : &named_[static_cast<std::size_t>(slot.number)];
    }

    /// Everything entered, in that order.
    const std::vector<Named>& all() const { return named_; }

private:
    struct Slot {
        std::uint32_t hash = 0;
        std::int32_t number = -1;  ///< -1: free
    };
    static std::uint64_t hash_of(std::string_view label) { return std::hash<std::string_view>{}(label); }

    /// Where the label stands, or the free place where it would.
    std::size_t place_of(std::string_view label, std::uint64_t hash) const {
        const std::size_t mask = table_.size() - 1;
        std::size_t place = (hash >> 20U) & mask;
        while (table_[place].number >= 0 &&
               (table_[place].hash != static_cast<std::uint32_t>(hash) || named_[static_cast<std::size_t>(table_[place].number)].label != label))
            place = (place + 1) & mask;
        return place;
    }

    std::vector<Slot> table_;
    std::vector<Named> named_;
};

}  // namespace ebb::layout
