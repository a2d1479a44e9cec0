/* SPDX-License-Identifier: MIT */
/* Sizes on the socket (RFC 8259, section 9, lets a parser set them), and the version of the protocol. */
#ifndef TD_WIRE_LIMITS_H
#define TD_WIRE_LIMITS_H

#include <stdint.h>

#include "core/time.h"

/* Frozen: what a message of this version means does not change any more. New members, methods and causes may come;
 * anything that a client of this version would misunderstand makes the next one. */
enum { TD_PROTOCOL = 1 };

/* R7: how old the newest token may be that a request brings (token.h): the default lease, so that what was asked for
 * ends within two leases of the moment that somebody wanted it. The design's choice. */
#define TD_TOKEN_AGE_MAX_NS TD_MS(300)

/* Largest whole number that every reader of JSON takes as it is (RFC 8259, section 6). */
#define TD_WHOLE_MAX INT64_C(9007199254740991)

enum {
	TD_LINE_MAX = 4096, /* bytes of a line, without its newline */
	TD_DEPTH_MAX = 8,   /* arrays and objects inside each other */
	TD_BATCH_MAX = 16,  /* calls in a batch */
};

#endif
