/* SPDX-License-Identifier: MIT */
#include "core/budget.h"

#include <string.h>

#define SPAN_S(ident, name, span_s) span_s,
static const int32_t span_s[TD_BUDGET_SPANS] = {TD_BUDGET_TABLE(SPAN_S)};
#undef SPAN_S

td_ns td_budget_span_ns(enum td_budget_span span)
{
	return (unsigned int)span < TD_BUDGET_SPANS ? TD_S(span_s[span]) : 0;
}

static td_ns part_ns(enum td_budget_span span)
{
	return td_budget_span_ns(span) / TD_BUDGET_PARTS;
}

static bool time_ok(td_ns at_ns)
{
	return at_ns >= -TD_BUDGET_TIME_MAX_NS && at_ns <= TD_BUDGET_TIME_MAX_NS;
}

/* Powered time of one part as it has to be assumed: somewhere before end_ns, all of it from begin_ns on. */
struct piece {
	td_ns begin_ns;
	td_ns end_ns;
};

/* The part that is `age` parts older than the newest. */
static struct piece piece_of(const struct td_budget *budget, enum td_budget_span span, int age)
{
	int index = (budget->newest + TD_BUDGET_BUCKETS - age) % TD_BUDGET_BUCKETS;
	const struct td_budget_bucket *bucket = &budget->bucket[index];
	td_ns end_ns = budget->begin_ns - age * part_ns(span) + TD_US(bucket->last_us);

	return (struct piece){end_ns - TD_US(bucket->on_us), end_ns};
}

void td_budget_init(struct td_budget *budget, td_ns now_ns)
{
	memset(budget, 0, sizeof(*budget));
	budget->begin_ns = time_ok(now_ns) ? now_ns : 0;
}

/* The newest part is the first, and has only just begun. */
void td_budget_fill(struct td_budget *budget, enum td_budget_span span, td_ns now_ns)
{
	td_budget_init(budget, now_ns);
	uint32_t part_us = (uint32_t)(part_ns(span) / 1000);

	for (int i = 1; i < TD_BUDGET_BUCKETS; i++)
		budget->bucket[i] = (struct td_budget_bucket){part_us, part_us};
}

bool td_budget_sane(const struct td_budget *budget, enum td_budget_span span)
{
	bool sane = part_ns(span) > 0 && budget->newest < TD_BUDGET_BUCKETS && time_ok(budget->begin_ns);

	for (int i = 0; i < TD_BUDGET_BUCKETS && sane; i++)
		sane = budget->bucket[i].on_us <= budget->bucket[i].last_us &&
		       budget->bucket[i].last_us <= part_ns(span) / 1000;
	return sane;
}

/* Makes the newest part the one `at_ns` is in. */
static void roll(struct td_budget *budget, td_ns length_ns, td_ns at_ns)
{
	if (at_ns < budget->begin_ns)
		return;
	td_ns steps = (at_ns - budget->begin_ns) / length_ns;

	budget->begin_ns = at_ns - (at_ns - budget->begin_ns) % length_ns;
	for (int i = 0; i < TD_BUDGET_BUCKETS && i < steps; i++) {
		budget->newest = (uint8_t)((budget->newest + 1) % TD_BUDGET_BUCKETS);
		budget->bucket[budget->newest] = (struct td_budget_bucket){0, 0};
	}
}

static td_ns up_to_us(td_ns span_ns)
{
	return (span_ns + 999) / 1000;
}

/* A run, or the part of it that lies in the newest part. */
static void add_piece(struct td_budget *budget, td_ns from_ns, td_ns to_ns)
{
	struct td_budget_bucket *bucket = &budget->bucket[budget->newest];
	td_ns last_us = up_to_us(to_ns - budget->begin_ns);
	td_ns on_us = bucket->on_us + up_to_us(to_ns - from_ns);

	if (last_us < bucket->last_us)
		last_us = bucket->last_us;
	bucket->last_us = (uint32_t)last_us;
	/* No more can have been on than there was time. */
	bucket->on_us = (uint32_t)(on_us < last_us ? on_us : last_us);
}

/* What of a run lies in the part it begins in; where that ends, or the run. */
static td_ns add_part(struct td_budget *budget, td_ns length_ns, td_ns from_ns, td_ns to_ns)
{
	roll(budget, length_ns, from_ns);
	if (from_ns < budget->begin_ns)
		from_ns = budget->begin_ns;
	td_ns end_ns = td_time_earlier(to_ns, budget->begin_ns + length_ns);

	if (end_ns > from_ns)
		add_piece(budget, from_ns, end_ns);
	return end_ns;
}

void td_budget_add(struct td_budget *budget, enum td_budget_span span, td_ns from_ns, td_ns to_ns)
{
	td_ns length_ns = part_ns(span);

	if (length_ns == 0 || !td_budget_sane(budget, span) || !time_ok(from_ns) || !time_ok(to_ns))
		return;
	if (to_ns - from_ns > td_budget_span_ns(span))
		from_ns = to_ns - td_budget_span_ns(span);
	for (int part = 0; from_ns < to_ns && part < TD_BUDGET_BUCKETS; part++) /* cover: a run has no more */
		from_ns = add_part(budget, length_ns, from_ns, to_ns);
}

/* What of a piece has to be assumed after `from_ns`. */
static td_ns left_of(struct piece piece, td_ns from_ns)
{
	if (piece.begin_ns < from_ns)
		piece.begin_ns = from_ns;
	return piece.end_ns > piece.begin_ns ? piece.end_ns - piece.begin_ns : 0;
}

td_ns td_budget_spent_ns(const struct td_budget *budget, enum td_budget_span span, td_ns from_ns)
{
	td_ns sum_ns = 0;

	if (!td_budget_sane(budget, span))
		return td_budget_span_ns(span);
	for (int age = TD_BUDGET_PARTS; age >= 0; age--)
		sum_ns += left_of(piece_of(budget, span, age), from_ns);
	return sum_ns;
}

/*
 * What is running adds as time goes on; what leaves the window at its old end takes away. While a piece
 * leaves, the two cancel out; between pieces the slack shrinks. So the sum never falls, and walking once
 * along the pieces finds where the slack is gone.
 */
td_ns td_budget_cut_ns(const struct td_budget *budget, enum td_budget_span span, td_ns allowed_ns,
		       td_ns since_ns)
{
	td_ns span_ns = td_budget_span_ns(span);

	if (!td_budget_sane(budget, span) || !time_ok(since_ns) || allowed_ns < 0)
		return since_ns;
	td_ns old_ns = since_ns - span_ns;
	td_ns slack_ns = allowed_ns - td_budget_spent_ns(budget, span, old_ns);

	if (slack_ns < 0)
		return since_ns;
	for (int age = TD_BUDGET_PARTS; age >= 0; age--) {
		struct piece piece = piece_of(budget, span, age);

		if (piece.end_ns <= old_ns || piece.end_ns == piece.begin_ns)
			continue;
		td_ns gap_ns = piece.begin_ns > old_ns ? piece.begin_ns - old_ns : 0;

		if (slack_ns < gap_ns)
			return old_ns + span_ns + slack_ns;
		slack_ns -= gap_ns;
		old_ns = piece.end_ns;
	}
	/* The whole window is what is running. */
	return slack_ns < since_ns - old_ns ? old_ns + span_ns + slack_ns : TD_NEVER;
}

/* A run of `least_ns` fits once no more than allowed - least lies in the window it ends with. */
td_ns td_budget_start_ns(const struct td_budget *budget, enum td_budget_span span, td_ns allowed_ns,
			 td_ns least_ns, td_ns now_ns)
{
	td_ns span_ns = td_budget_span_ns(span);

	if (!td_budget_sane(budget, span) || !time_ok(now_ns) || least_ns < 0 || least_ns > span_ns ||
	    allowed_ns < least_ns)
		return TD_NEVER;
	td_ns lead_ns = span_ns - least_ns;
	td_ns old_ns = now_ns - lead_ns;
	td_ns excess_ns = td_budget_spent_ns(budget, span, old_ns) - (allowed_ns - least_ns);

	for (int age = TD_BUDGET_PARTS; age >= 0 && excess_ns > 0; age--) {
		struct piece piece = piece_of(budget, span, age);
		td_ns left_ns = left_of(piece, old_ns);

		old_ns = left_ns > 0 ? piece.end_ns - left_ns + (left_ns < excess_ns ? left_ns : excess_ns)
				     : old_ns;
		excess_ns -= left_ns;
	}
	return old_ns + lead_ns;
}
