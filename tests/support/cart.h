/* SPDX-License-Identifier: MIT */
/* A small cart for tests of the bench: made by hand, every number invented. */
#ifndef TD_SUPPORT_CART_H
#define TD_SUPPORT_CART_H

#include "config/config.h"
#include "sim/plant.h"

enum { CART_DRIVE = 0, CART_BOOM, CART_AXES };
enum { CART_BOTTOM = 0, CART_TOP, CART_STOP, CART_SWITCHES };

/* Bits of the output word. */
enum {
	CART_BACKWARD = 1 << (CART_DRIVE * TD_WAYS),
	CART_FORWARD = 2 << (CART_DRIVE * TD_WAYS),
	CART_LOWER = 1 << (CART_BOOM * TD_WAYS),
	CART_RAISE = 2 << (CART_BOOM * TD_WAYS),
};

/* drive: free. boom: 1500 ms down, 2000 ms up, time constants 40 and 25 ms, 60 teeth a second, cams at
 * 5 %, start at 50 %. Every switch normally-closed with a pull-up. Bounce 1500 us. */
struct td_plant_model cart_model(void);

/* Its names: axes drive (backward, forward) and boom (lower, raise); switches boom_bottom, boom_top and
 * stop_contact, the emergency-stop input. Rules as far as the bench reads them. */
struct td_config cart_config(void);

#endif
