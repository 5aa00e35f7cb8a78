#pragma once

#include <initializer_list>
#include <optional>
#include <string>

#include "demo-data/intake.h"

namespace demo {

/// The two operators at the counter: what they probe, where they send a load, what they write down.
class Counter {
 public:
    Counter(Intake& intake, Bench& bench) : intake_(intake), bench_(bench) {}

    static const char* on_duty(models::Stamp time);
    BinRow& bin(const std::string& name);

    /// A sample of eight to twelve probes out of the wagon.
    std::size_t probe(const LoadRow& load, const char* why);
    void probe_bin(const std::string& name, models::Stamp time);

    /// Where grain goes by the operators' own rule of thumb; nothing where no fitting bin has room.
    std::optional<std::string> bin_for(const LoadRow& load, std::optional<double> reading_mg_per_kg);

    MoveRow& dump(const LoadRow& load, const std::string& to, models::Stamp time);
    MoveRow& turn_away(const LoadRow& load, models::Stamp time);
    /// From one bin to another, or out.
    MoveRow& draw(const std::string& from, const std::string& to, double mass_t, const char* kind, models::Stamp time);
    /// The load lies in another bin than was written down.
    MoveRow& correct(const LoadRow& load, const std::string& to, models::Stamp time);

 private:
    MoveRow& write_down(const std::string& from, const std::string& to, double mass_t, const char* kind,
                        models::Stamp time);
    std::optional<std::string> with_room(std::initializer_list<const char*> names, double mass_t);

    Intake& intake_;
    Bench& bench_;
};

}  // namespace demo
