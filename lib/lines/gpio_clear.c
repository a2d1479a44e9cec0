/* SPDX-License-Identifier: MIT */
/* Outputs low and nothing else, when no daemon is there to do it. */
#include <string.h>

#include "lines/gpio_find.h"
#include "lines/gpio_text.h"

/* One line by itself, so that one that is held does not keep the others high. */
static int clear(const struct td_gpio_chips *chips, const char *file, const struct td_gpio_wanted *wanted,
		 struct td_error *err)
{
	struct td_gpio_group *group = NULL;
	struct td_gpio_spot spot;
	int result;

	if (td_gpio_find(chips, file, wanted, &spot, err) < 0)
		return -1;
	result = td_gpio_take_outputs(chips->at[spot.chip].chip, &spot.offset, 1, &group);
	if (result < 0)
		return td_gpio_blame(chips, file, wanted, &spot, 1, result, err);
	td_gpio_release(group);
	return 0;
}

unsigned td_lines_gpio_clear(const struct td_lines_gpio_request *request, struct td_error *err)
{
	struct td_gpio_text missed = {0};
	struct td_gpio_chips chips;
	unsigned failed = 0;

	td_gpio_chips_open(&chips);
	for (unsigned i = 0; i < (unsigned)request->outputs + request->beats; i++) {
		const struct td_gpio_wanted *wanted =
			i < request->outputs ? &request->output[i] : &request->heartbeat;
		struct td_error why;

		if (clear(&chips, request->file, wanted, &why) == 0)
			continue;
		td_gpio_text_add(&missed, "%s%s", failed++ ? "\n" : "", why.text);
	}
	td_gpio_chips_close(&chips);
	td_error_set(err, "%s", missed.text);
	return failed;
}
