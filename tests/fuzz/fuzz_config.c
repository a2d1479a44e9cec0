/* SPDX-License-Identifier: MIT */
/* Any bytes as a configuration file: read as a whole or not at all, and twice the same. */
#include <string.h>

#include "tests/fuzz/fuzz.h"

static void check_names(const struct td_config *config)
{
	for (uint8_t axis = 0; axis < config->axes; axis++) {
		must(td_config_axis(config, config->axis[axis].name) == axis, "an axis is found by its name");
		for (uint8_t way = 0; way < TD_WAYS; way++)
			must(td_config_way(config, axis, config->axis[axis].way_name[way]) == way,
			     "a way is found by its name");
	}
	for (uint8_t sw = 0; sw < config->switches; sw++)
		must(td_config_switch(config, config->sw[sw].name) == sw, "a switch is found by its name");
}

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t count)
{
	static struct td_config config;
	static struct td_config again;
	static struct td_config_faults faults;
	bool read = td_config_read_text((const char *)bytes, count, "fuzz.conf", &config, &faults);

	must_be_whole(read, &faults);
	if (!read) {
		must(is_all_zero(&config, sizeof(config)), "nothing is left of a bad file");
		return 0;
	}
	must(td_rules_check(&config.rules).fault == TD_RULES_OK, "what was read has passed the check");
	must(config.axes == config.rules.axes && config.switches == config.rules.switches,
	     "names and rules are of the same things");
	check_names(&config);
	/* Both are static and were zeroed as a whole: padding is equal too. */
	must(td_config_read_text((const char *)bytes, count, "fuzz.conf", &again, &faults) &&
		     again.hash == config.hash && memcmp(&again, &config, sizeof(config)) == 0, /* NOLINT */
	     "a file read twice gives the same");
	return 0;
}
