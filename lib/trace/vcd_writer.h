/* SPDX-License-Identifier: MIT */
/*
 * Writes a trace as it happens. Order of calls:
 *
 *     td_vcd_writer_new
 *     _comment, _enter, _signal, _leave ...   declarations
 *     _begin                                  ends them and writes every value
 *     _set, _comment ...                      in the order of time
 *     _finish, _free
 *
 * Every call that returns int gives 0, or -1 with a sentence in *err, of two kinds:
 *  - a refusal: the call made no sense (time that runs backwards, a bad name, wrong order). Nothing was
 *    written and the trace goes on.
 *  - a loss: the file could not be written (disk full). The writer is broken from then on; every later
 *    call fails with the same sentence. td_vcd_writer_broken() tells the two apart.
 *
 * Calls block as long as stdio's writing does. Nothing here touches the clock.
 */
#ifndef TD_TRACE_VCD_WRITER_H
#define TD_TRACE_VCD_WRITER_H

#include <stdio.h>

#include "core/time.h"
#include "error.h"
#include "trace/vcd.h"

/* Length of one time step in the file. The zero value is the exact one. */
enum td_vcd_scale { TD_VCD_SCALE_1NS = 0, TD_VCD_SCALE_1US };

struct td_vcd_head {
	const char *date;        /* free text; NULL = left out */
	const char *version;     /* what wrote the file; NULL = left out */
	enum td_vcd_scale scale; /* 1 us rounds times down */
};

struct td_vcd_writer;

/* Begins a file. `out` stays the caller's and must outlive the writer. NULL with *err where there is no
 * memory, the head's text cannot stand in a file, or it cannot be written. */
struct td_vcd_writer *td_vcd_writer_new(FILE *out, const struct td_vcd_head *head, struct td_error *err);

/* A comment: several lines are fine; the word "$end" and bytes below 32 other than tab, CR and LF are
 * refused. Comes back from the reader byte for byte. After _begin it belongs to the time last written;
 * _at sets that time first. */
int td_vcd_writer_comment(struct td_vcd_writer *writer, const char *text, struct td_error *err);
int td_vcd_writer_comment_at(struct td_vcd_writer *writer, td_ns at_ns, const char *text,
			     struct td_error *err);

/* Opens and closes a scope. Names of scopes and signals: printable ASCII without blanks, '.' and '[',
 * not beginning with '$', shorter than TD_VCD_NAME_MAX. */
int td_vcd_writer_enter(struct td_vcd_writer *writer, const char *scope, struct td_error *err);
int td_vcd_writer_leave(struct td_vcd_writer *writer, struct td_error *err);

/* Declares a signal of `width` bits (1 ... TD_VCD_WIDTH_MAX) in the open scope, with the value it has
 * at the first moment. Returns its index (0, 1, 2 ...) or -1. */
int td_vcd_writer_signal(struct td_vcd_writer *writer, const char *name, unsigned int width,
			 struct td_vcd_value first, struct td_error *err);

/* Ends the declarations, closes open scopes, writes all values. `at_ns` becomes time 0 of the file. */
int td_vcd_writer_begin(struct td_vcd_writer *writer, td_ns at_ns, struct td_error *err);

/* A signal changed. A value equal to the last one writes nothing. `at_ns` may equal the last time but
 * not lie before it. */
int td_vcd_writer_set(struct td_vcd_writer *writer, int signal, td_ns at_ns, struct td_vcd_value value,
		      struct td_error *err);

/* Writes `at_ns` as the last moment, so that a reader knows how long the last values held, and hands
 * everything to the kernel. May be followed by further _set calls. */
int td_vcd_writer_finish(struct td_vcd_writer *writer, td_ns at_ns, struct td_error *err);

/* True once something could not be written. */
bool td_vcd_writer_broken(const struct td_vcd_writer *writer);

/* Frees the writer, not the file; NULL is fine. Does not flush. */
void td_vcd_writer_free(struct td_vcd_writer *writer);

#endif
