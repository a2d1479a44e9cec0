/* SPDX-License-Identifier: MIT */
#include "daemon/mover/records.h"

#include "core/record.h"

#define AFTER_NEWS_NS TD_S(1)

void td_mover_records_init(struct td_mover_records *records, struct td_shelf *shelf, uint32_t machine,
			   td_ns now_ns)
{
	records->shelf = shelf;
	records->machine = machine;
	records->news = true;
	records->laid_ns = now_ns;
}

void td_mover_records_note(struct td_mover_records *records, const struct td_result *result)
{
	records->news = records->news || result->news_count > 0;
}

td_ns td_mover_records_due(const struct td_mover_records *records, uint32_t written)
{
	if (!records->shelf)
		return TD_NEVER;
	if (records->news)
		return td_time_after(records->laid_ns, AFTER_NEWS_NS);
	if (written != 0)
		return td_time_after(records->laid_ns, TD_RECORD_TAKE_NS);
	return records->drove ? td_time_after(records->laid_ns, TD_RECORD_EVERY_NS) : TD_NEVER;
}

static void lay(struct td_mover_records *records, const struct td_core *core, const struct td_rules *rules,
		bool closed, td_ns now_ns)
{
	struct td_shelf_record *place = td_shelf_place(records->shelf);

	td_record_take(core, rules, closed, now_ns, &records->keep);
	td_keep_take(&records->keep, records->machine, now_ns, place->bytes);
	place->taken_ns = now_ns;
	place->drove = !closed && td_record_drove(core, rules, now_ns);
	place->latched = records->keep.latched != 0;
	place->locked = records->keep.locked;
	records->drove = place->drove;
	td_shelf_lay(records->shelf);
	records->news = false;
	records->laid_ns = now_ns;
}

void td_mover_records_tend(struct td_mover_records *records, const struct td_core *core,
			   const struct td_rules *rules, uint32_t written, td_ns now_ns)
{
	if (now_ns >= td_mover_records_due(records, written))
		lay(records, core, rules, false, now_ns);
}

void td_mover_records_close(struct td_mover_records *records, const struct td_core *core,
			    const struct td_rules *rules, td_ns now_ns)
{
	if (records->shelf)
		lay(records, core, rules, true, now_ns);
}
