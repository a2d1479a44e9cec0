/* SPDX-License-Identifier: MIT */
/*
 * A real front process between two ends that the test plays: the mover (over the socket pairs) and any
 * number of clients (over the sockets). Every wait has a limit; running into it fails the test.
 */
#ifndef TD_TESTS_FRONT_RIG_H
#define TD_TESTS_FRONT_RIG_H

#include <stdbool.h>
#include <sys/types.h>

#include <jansson.h>

#include "config/config.h"
#include "daemon/front/front.h"
#include "daemon/msg.h"
#include "daemon/scribe/shared.h"
#include "wire/token.h"

struct rig {
	char dir[64];
	struct td_config
		config; /* the cart's boom (lower, raise; end switches) and drive (backward, forward) */
	struct td_arming arming; /* what the front is told of it; rig_prepare() leaves it empty */
	struct td_shared shared; /* with the scribe, which the test plays too */
	pid_t pid;
	int orders; /* the mover's ends */
	int urgent;
	volatile uid_t *uid; /* of those who connect, as the front sees them; (uid_t)-1: who they are */
	int log;             /* what the front wrote to standard error */
};

struct rig_client {
	int fd;
	td_ns token_ns; /* when the newest token was asked for */
	char token[TD_TOKEN_CHARS + 1];
	char bytes[256 * 1024];
	size_t used;
};

enum { RIG_BOOM = 0, RIG_DRIVE = 1, RIG_LOWER = 0, RIG_RAISE = 1 };

/* A temporary directory and a configuration in it; nothing runs yet. */
void rig_prepare(struct rig *rig);
/* Starts the front. `latched`: what the state file said. */
void rig_start(struct rig *rig, bool latched);
/* The same, and it has seen the whole machine: armed, both axes still. */
void rig_start_ready(struct rig *rig);
/* The mover leaves; returns the front's exit code, and removes the directory. */
int rig_end(struct rig *rig);
/* Waits for the front to end by itself; -1 if a signal killed it. */
int rig_exit_code(struct rig *rig);
void rig_remove(struct rig *rig);
/* All the front has logged, free() it. */
char *rig_log(const struct rig *rig);

/* The mover's side. */
struct td_order rig_order(int fd);        /* the next order on one of the pairs */
bool rig_no_order(const struct rig *rig); /* nothing waits on either pair now */
void rig_answer(const struct rig *rig, uint64_t tag, enum td_cause cause);
void rig_note(const struct rig *rig, const struct td_note *note);
struct td_note rig_machine_note(bool armed, uint8_t latch);
struct td_note rig_axis_note(uint8_t axis, enum td_axis_state state);
struct td_note rig_news_note(enum td_cause cause, uint8_t axis, uint8_t way, uint32_t session, uint32_t hold);

/* The scribe's side: waits for the next entry and takes it out. */
struct td_entry rig_told(const struct rig *rig);

/* A client's side. */
/* Whoever connects from now on is this user. Those who connected before have to be served already (rig_sync). */
void rig_as(const struct rig *rig, uid_t uid);
struct rig_client *rig_connect(const struct rig *rig, enum td_role role);
void rig_close(struct rig_client *client); /* frees it */
/* Adds the newline; every "@" (a whole JSON string) becomes a token that is young enough. */
void rig_send(struct rig_client *client, const char *line);
/* A token that is new, or that was a moment ago. What else arrives meanwhile is still there afterwards. */
const char *rig_token(struct rig_client *client);
json_t *rig_receive(struct rig_client *client); /* the next line; the caller's */
bool rig_closed(struct rig_client *client);     /* the front closed it; reads away what comes before */
/* Sends, and waits for the answer to `id` ("params" may be ""); the caller's. Other lines are thrown away. */
json_t *rig_call(struct rig_client *client, const char *method, const char *params, int id);
/* Everything this client sent before has been dealt with. */
void rig_sync(struct rig_client *client);

/* result.result or error.data.cause, else error.message; "" if there is none. */
const char *rig_outcome(const json_t *answer);
int rig_id(const json_t *answer);
int rig_code(const json_t *answer); /* 0: no error */
const char *rig_sentence(const json_t *answer);

#endif
