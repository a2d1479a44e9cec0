/* SPDX-License-Identifier: MIT */
#include "sim/feeler.h"

enum { STIR = 16 };

/* A linear congruential generator modulo 2^64, the upper bits taken (D. E. Knuth, "The Art of Computer
 * Programming" vol. 2, 3.3.4; multiplier from memory). Nothing here depends on its quality. */
static uint64_t draw(uint64_t *state)
{
	*state = *state * UINT64_C(6364136223846793005) + UINT64_C(1442695040888963407);
	return *state >> 33;
}

void td_feeler_init(struct td_feeler *feeler, const struct td_switch_rules *kind, td_ns bounce_ns,
		    uint64_t stream)
{
	*feeler = (struct td_feeler){
		.contact = kind->contact, .pull = kind->pull, .bounce_ns = bounce_ns, .random = stream};
	for (int i = 0; i < STIR; i++)
		draw(&feeler->random); /* neighbouring streams drift apart */
}

/* Keeps the flips in order of time while they are drawn; there are eight at most. */
static void insert_flip(struct td_feeler *feeler, td_ns at_ns)
{
	uint8_t i = feeler->flips++;

	for (; i > 0 && feeler->flip_ns[i - 1] > at_ns; i--)
		feeler->flip_ns[i] = feeler->flip_ns[i - 1];
	feeler->flip_ns[i] = at_ns;
}

static void start_burst(struct td_feeler *feeler, td_ns at_ns)
{
	feeler->flips = 0;
	feeler->flipped = 0;
	if (feeler->bounce_ns <= 0)
		return;
	unsigned int wanted = 2 + 2 * (unsigned int)(draw(&feeler->random) % (TD_FEELER_FLIPS_MAX / 2));
	for (unsigned int i = 0; i < wanted; i++) {
		uint64_t later = 1 + draw(&feeler->random) % (uint64_t)feeler->bounce_ns;

		insert_flip(feeler, td_time_after(at_ns, (td_ns)later));
	}
}

void td_feeler_press(struct td_feeler *feeler, td_ns at_ns, bool cam, bool finger)
{
	bool before = feeler->cam || feeler->finger;

	feeler->cam = cam;
	feeler->finger = finger;
	if ((cam || finger) == before)
		return;
	feeler->pressed = !before;
	start_burst(feeler, at_ns);
}

td_ns td_feeler_next(const struct td_feeler *feeler)
{
	return feeler->flipped < feeler->flips ? feeler->flip_ns[feeler->flipped] : TD_NEVER;
}

void td_feeler_advance(struct td_feeler *feeler, td_ns at_ns)
{
	while (td_feeler_next(feeler) <= at_ns && feeler->flipped < feeler->flips) {
		feeler->pressed = !feeler->pressed;
		feeler->flipped++;
	}
}

void td_feeler_settle(struct td_feeler *feeler)
{
	td_feeler_advance(feeler, TD_NEVER);
}

bool td_feeler_high(const struct td_feeler *feeler)
{
	if (feeler->wire == TD_WIRE_SHORTED)
		return false;
	bool closed = feeler->wire == TD_WIRE_SOUND && feeler->pressed == (feeler->contact == TD_CONTACT_NO);
	/* A closed contact pulls a pulled-up line down, and a pulled-down one up. */
	return closed == (feeler->pull == TD_PULL_DOWN);
}
