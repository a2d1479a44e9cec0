/* SPDX-License-Identifier: MIT */
/*
 * What the writer and the reader of traces share: values, identifier codes, limits.
 *
 * A trace is a four-state value change dump as IEEE 1364-2005 clause 18 describes it, so that any
 * waveform viewer opens it. Time in a file counts from its first moment, which is 0.
 */
#ifndef TD_TRACE_VCD_H
#define TD_TRACE_VCD_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/* Limits of both ends. A file beyond them is refused with a sentence, never cut silently. */
enum {
	TD_VCD_SIGNALS_MAX = 1024,
	TD_VCD_WIDTH_MAX = 64,        /* bits of a vector */
	TD_VCD_NAME_MAX = 128,        /* bytes of a signal's or scope's name, terminator included */
	TD_VCD_PATH_MAX = 256,        /* bytes of all enclosing scopes joined by '.', terminator included */
	TD_VCD_DEPTH_MAX = 16,        /* nested scopes */
	TD_VCD_CODE_MAX = 10,         /* bytes of an identifier code, terminator included */
	TD_VCD_TEXT_MAX = 256 * 1024, /* bytes of a $comment, $date or $version, terminator included */
};

/*
 * A value of up to 64 four-state bits; bit 0 is the rightmost digit:
 *
 *     digit   bits   odd
 *     0       0      0
 *     1       1      0
 *     z       0      1
 *     x       1      1
 */
struct td_vcd_value {
	uint64_t bits;
	uint64_t odd; /* bits that are neither 0 nor 1 */
};

/* A plain number as a value. */
static inline struct td_vcd_value td_vcd_number(uint64_t number)
{
	return (struct td_vcd_value){.bits = number};
}

/* Every bit unknown (x). */
static inline struct td_vcd_value td_vcd_unknown(void)
{
	return (struct td_vcd_value){.bits = UINT64_MAX, .odd = UINT64_MAX};
}

/* Equal in the lowest `width` bits (1 ... TD_VCD_WIDTH_MAX). */
bool td_vcd_same(struct td_vcd_value a, struct td_vcd_value b, unsigned int width);

/* The digits of a value, `width` of them, the leftmost dropped where the reader's extension brings
 * them back: 0 before 0 or 1, x before x, z before z. `out` is terminated. Never fails. */
void td_vcd_digits(struct td_vcd_value value, unsigned int width, char out[TD_VCD_WIDTH_MAX + 1]);

/* The opposite: 1 ... `width` digits 0, 1, x, X, z, Z, extended on the left to `width`. False where
 * there are too few, too many or others. */
bool td_vcd_parse_digits(const char *digits, unsigned int width, struct td_vcd_value *value);

/* The identifier code of the n-th signal: base 94 over the printable characters '!' ... '~', least
 * significant first: 0 = "!", 93 = "~", 94 = "!!". `out` is terminated. Never fails. */
void td_vcd_code(uint32_t n, char out[TD_VCD_CODE_MAX]);

/* The number behind a code of at most TD_VCD_CODE_MAX - 1 printable characters; different codes have
 * different numbers. False where it is empty, longer or holds something else. */
bool td_vcd_parse_code(const char *code, uint64_t *n);

#endif
