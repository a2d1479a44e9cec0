/* SPDX-License-Identifier: MIT */
/* Finds places for the number plates of marks: near their moments, beside each other, never on top. */
#ifndef TD_SIM_DRAW_PLACE_H
#define TD_SIM_DRAW_PLACE_H

#include <stddef.h>

struct td_plate {
	size_t first; /* the marks on this plate: first ... last, in the order of time */
	size_t last;
	double x; /* where the moment is: the first one's */
	double width;
	double place; /* middle of the plate */
};

/* Fills `plate` (room for `marks`) for marks at the rising positions x[0 ... marks - 1], and returns how
 * many plates there are. All plates lie within from ... to, `gap` or more apart. Where there are too many,
 * the closest neighbours share a plate. */
size_t td_draw_place(const double *x, size_t marks, double from, double to, double gap,
		     struct td_plate *plate);

#endif
