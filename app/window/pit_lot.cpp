#include "app/window/pit_lot.h"

#include "app/pit_words.h"
#include "app/window/session.h"
#include "app/window/take_over.h"
#include "models/error.h"

namespace app::window {

namespace {

PitLot lot_worked_out(std::shared_ptr<const Answer> answer, const LotAsked& asked) {
    PitLot lot;
    lot.asked = asked;
    OutboundAsked outbound;
    outbound.lot_t = asked.lot_t;
    outbound.from = asked.bin;
    outbound.buyer.plan.increments = 10;  // as bins --outbound takes it
    try {
        const SeasonView& view = answer->view;
        lot.sold = outbound_of_bins(view.data, *view.bins, view.season, outbound).bins.front();
        lot.refused = lot.sold.why_not;
    } catch (const models::Error& error) {
        lot.refused = error.what_happened();
    }
    lot.from = std::move(answer);
    return lot;
}

}  // namespace

const models::LotOutlook* first_lot_of(const PitLot& lot) {
    const models::LotOutlook* worst = nullptr;
    for (const models::BinOutbound& way : lot.sold.ways)
        if (!way.lots.empty() && (worst == nullptr || way.lots.front().rejected > worst->rejected))
            worst = &way.lots.front();
    return worst;
}

bool look_at_lot(Session& session) {
    PitPanel& pit = session.pit;
    bool changed = false;
    if (const auto left = take_over(session, pit.selling)) {
        if (left->result)
            pit.lot = left->result;
        else if (!left->stopped)
            pit.refused = left->problem;
        changed = true;
    }
    if (!pit.lot_asked) {
        pit.lot.reset();
        return changed;
    }
    const bool there = pit.lot && pit.lot->from == session.answer && pit.lot->asked == *pit.lot_asked;
    if (there || pit.selling) return changed;
    pit.selling = std::make_unique<Job<PitLot>>(
        spoken(words::pit_selling),
        [answer = session.answer, asked = *pit.lot_asked](const models::Progress&) {
            return lot_worked_out(answer, asked);
        },
        session.wake);
    return changed;
}

}  // namespace app::window
