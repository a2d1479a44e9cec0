/* SPDX-License-Identifier: MIT */
#include <getopt.h>
#include <stdbool.h>
#include <stdio.h>

#include "sim/plant_keys.h"
#include "sim/verbs.h"

int td_verb_plant(int argc, char **argv)
{
	static const struct option options[] = {{"explain", no_argument, NULL, 'e'}, {0}};
	bool explain = getopt_long(argc, argv, "", options, NULL) == 'e';

	if (!explain || getopt_long(argc, argv, "", options, NULL) != -1 || optind != argc) {
		(void)fprintf(stderr, "tripdog-sim plant: form: plant --explain\n");
		return TD_VERB_USAGE;
	}
	td_plant_keys_explain(stdout);
	return fflush(stdout) == 0 ? TD_VERB_OK : TD_VERB_FAILED;
}
