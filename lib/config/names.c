/* SPDX-License-Identifier: MIT */
#include <string.h>

#include "config/config.h"

uint8_t td_config_axis(const struct td_config *config, const char *name)
{
	for (uint8_t axis = 0; axis < config->axes; axis++)
		if (strcmp(config->axis[axis].name, name) == 0)
			return axis;
	return TD_NO_AXIS;
}

uint8_t td_config_way(const struct td_config *config, uint8_t axis, const char *name)
{
	for (uint8_t way = 0; axis < config->axes && way < TD_WAYS; way++)
		if (strcmp(config->axis[axis].way_name[way], name) == 0)
			return way;
	return TD_NO_WAY;
}

uint8_t td_config_switch(const struct td_config *config, const char *name)
{
	for (uint8_t sw = 0; sw < config->switches; sw++)
		if (strcmp(config->sw[sw].name, name) == 0)
			return sw;
	return TD_NO_SWITCH;
}
