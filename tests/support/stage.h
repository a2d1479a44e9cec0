/* SPDX-License-Identifier: MIT */
/*
 * The real thing for end-to-end tests: a board process with the plant of the glasshouse cart, the real
 * tripdogd on it, and links to its sockets. Everything lives in a fresh directory.
 *
 * What cannot fail but by a broken set-up aborts the test with fail_msg().
 */
#ifndef TD_TESTS_STAGE_H
#define TD_TESTS_STAGE_H

#include <stdbool.h>
#include <sys/types.h>

#include <jansson.h>

#include "core/time.h"
#include "daemon/client/link.h"

enum { STAGE_PATH_MAX = 200 };

struct stage {
	char dir[STAGE_PATH_MAX];
	char config[STAGE_PATH_MAX];
	char plant[STAGE_PATH_MAX];
	pid_t board;
	pid_t daemon;
	int control_fd;
	struct td_link *keeper;
};

/* Directory, board, daemon, keeper's link; armed and every axis at rest when it returns. */
void stage_open(struct stage *stage);
/* The same with places for so many visitors; 0: as the example has it. */
void stage_open_for(struct stage *stage, unsigned int visitors);
void stage_close(struct stage *stage);

/* The daemon alone: started, armed and at rest; ended (its exit code). */
void stage_start_daemon(struct stage *stage);
int stage_end_daemon(struct stage *stage);

/* The path of a program of the build under test, and of a file in the stage's directory; static buffers. */
const char *stage_program(const char *name);
const char *stage_file(const struct stage *stage, const char *name);

/* One command to the board; the answer is the caller's. */
json_t *stage_poke(struct stage *stage, const char *format, ...) __attribute__((format(printf, 2, 3)));

/* From the board's report. */
td_ns stage_fall_ns(struct stage *stage, const char *axis, int way); /* -1 = never */
td_ns stage_rise_ns(struct stage *stage, const char *axis, int way);
bool stage_high(struct stage *stage, const char *axis, int way);
bool stage_any_high(struct stage *stage);
double stage_position(struct stage *stage, const char *axis);
long long stage_total(struct stage *stage,
		      const char *key); /* sum over the axes: "skipped_teeth", "both_high" ... */

/* Another link to one of the sockets. */
struct td_link *stage_link(struct stage *stage, const char *name);

/* A call that must be answered; the result or, after a refusal, the error object. */
json_t *stage_call(struct td_link *link, const char *method, json_t *params);

/* "started", "queued", ... or the cause of the refusal; static buffer. */
const char *stage_request(struct td_link *link, const char *axis, const char *way, int hold, int seq,
			  int lease_ms);

/* Renews every 50 ms until the cause of the end comes in, or the time is over ("still-held"). Static buffer. */
const char *stage_hold(struct td_link *link, const char *axis, const char *way, int hold, td_ns for_ns);

/* The member of an axis in status: e.g. "state", "trip.cause"; NULL if null. Static buffer. */
const char *stage_axis(struct td_link *link, const char *axis, const char *member);

/* The client as a process: tripdog --socket keeper hold AXIS WAY --for TIME. */
pid_t stage_client(struct stage *stage, const char *socket, const char *axis, const char *way,
		   const char *time);

/* The pids of the daemon's children. */
pid_t stage_guard(const struct stage *stage);
pid_t stage_scribe(const struct stage *stage);
pid_t stage_front(const struct stage *stage);

/* Waits until `high` is what the output is; false after the timeout. */
bool stage_wait_output(struct stage *stage, const char *axis, int way, bool high, td_ns timeout_ns);

void stage_sleep(td_ns span_ns);

#endif
