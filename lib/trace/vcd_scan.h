/* SPDX-License-Identifier: MIT */
/* Cuts a trace into words, knowing where it is. Used by the reader alone. */
#ifndef TD_TRACE_VCD_SCAN_H
#define TD_TRACE_VCD_SCAN_H

#include <stdbool.h>
#include <stdint.h>
#include <stdio.h>

enum { TD_VCD_WORD_MAX = 160 }; /* the longest word a trace within our limits can hold, and then some */

enum td_vcd_scanned {
	TD_VCD_WORD = 0, /* a whole word, or a whole text */
	TD_VCD_END,      /* the file ended before a word began */
	TD_VCD_CUT, /* the file ended inside a word or text, or at a zero byte: power was lost while writing */
	TD_VCD_TOO_LONG,
	TD_VCD_READ_ERROR,
};

struct td_vcd_scan {
	FILE *in;
	int64_t offset;      /* bytes taken so far */
	int64_t line;        /* of the next byte, from 1 */
	int64_t word_offset; /* where the last word began */
	int64_t word_line;
	char word[TD_VCD_WORD_MAX];
};

void td_vcd_scan_init(struct td_vcd_scan *scan, FILE *in);

/* The next word, terminated, in scan->word. Takes the one blank after it. */
enum td_vcd_scanned td_vcd_scan_word(struct td_vcd_scan *scan);

/* Everything up to the word "$end", which is taken too, with the blank before it. `text` gets it
 * terminated, *length says how long it is. */
enum td_vcd_scanned td_vcd_scan_text(struct td_vcd_scan *scan, char *text, size_t size, size_t *length);

#endif
