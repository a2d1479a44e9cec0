/* SPDX-License-Identifier: MIT */
/* Sizes on the socket. RFC 8259, section 9, lets a parser set them. */
#ifndef TD_WIRE_LIMITS_H
#define TD_WIRE_LIMITS_H

enum {
	TD_LINE_MAX = 4096, /* bytes of a line, without its newline */
	TD_DEPTH_MAX = 8,   /* arrays and objects inside each other */
	TD_BATCH_MAX = 16,  /* calls in a batch */
};

#endif
