/* SPDX-License-Identifier: MIT */
/*
 * Reads a plant file (NAME.plant): the mechanics to go with a configuration. The file knows the axes by
 * the names the configuration gives them and adds only what the daemon need not know; contacts, pulls
 * and which end switch belongs to which way come from the configuration. Form of the file as of a
 * configuration file (lib/config/scan.h); its keys are those of plant_keys.h.
 */
#ifndef TD_SIM_PLANT_CONFIG_H
#define TD_SIM_PLANT_CONFIG_H

#include <stdbool.h>
#include <stddef.h>

#include "config/config.h"
#include "sim/plant.h"

/* Reads and checks the whole file against `config`; every fault is collected, each as
 * "FILE:LINE: what; allowed; how to mend". True and *model filled if there is none; else *model is all
 * zero. Any bytes may stand in the file. */
bool td_plant_config_read(const char *path, const struct td_config *config, struct td_plant_model *model,
			  struct td_config_faults *faults);

/* The same from memory; `shown_as` stands for the file's name. `text` need not be terminated. */
bool td_plant_config_read_text(const char *text, size_t length, const char *shown_as,
			       const struct td_config *config, struct td_plant_model *model,
			       struct td_config_faults *faults);

#endif
