/* SPDX-License-Identifier: MIT */
#include "daemon/front/mirror.h"

#include <string.h>

void td_mirror_start(struct td_mirror *mirror, const struct td_config *config, const struct td_arming *arming)
{
	memset(mirror, 0, sizeof(*mirror));
	mirror->config = config;
	mirror->arming = arming;
}

bool td_mirror_take(struct td_mirror *mirror, const struct td_note *note)
{
	if (note->kind == TD_NOTE_MACHINE) {
		mirror->machine = note->as.machine;
		mirror->machine_ns = note->at_ns;
		return true;
	}
	if (note->kind != TD_NOTE_AXIS || note->as.axis.axis >= mirror->config->axes)
		return false;
	mirror->axis[note->as.axis.axis] = note->as.axis;
	mirror->axis_ns[note->as.axis.axis] = note->at_ns;
	return true;
}

int64_t td_degrees(int64_t uturn)
{
	int64_t half = uturn < 0 ? -500000 : 500000;

	return (uturn * 360 + half) / 1000000;
}

bool td_mirror_complete(const struct td_mirror *mirror)
{
	for (uint8_t axis = 0; axis < mirror->config->axes; axis++) {
		if (mirror->axis_ns[axis] == 0)
			return false;
	}
	return mirror->machine_ns != 0;
}
