/* SPDX-License-Identifier: MIT */
/*
 * A daemon made of a script, for tests of the client: one thread, one socket, one connection at a time. Each step of
 * the script is one string:
 *
 *	">method"   read a call and expect this method; anything else ends the script (and the connection). A hello
 *	            that is not expected is answered with FAKE_HELLO
 *	"=JSON"     answer the last call with this result
 *	"!JSON"     answer the last call with this error object
 *	"<text"     send the text and a newline; every '@' becomes the id of the last call, every '%' that
 *	            of the first one
 *	"-text"     send the text without a newline
 *	"?"         answer every call with {"result": "renewed"} until the client closes
 *	"~MS"       wait that many milliseconds
 *	"&"         close the connection and wait for the next
 *	"."         close the connection
 *
 * After the last step it answers nothing more, reads on until the client closes, and closes.
 */
#ifndef TD_TESTS_CLI_SERVER_H
#define TD_TESTS_CLI_SERVER_H

#include <jansson.h>

struct fake_server;

#define FAKE_TOKEN "0123456789abcdef00000001000000000123456789abcdef"
#define FAKE_HELLO "{\"protocol\":1,\"token\":\"" FAKE_TOKEN "\"}"

/* Listens on a new path in a new directory and starts the thread. `script` ends with NULL and outlives the
 * server. Fails the running test if it cannot. */
struct fake_server *fake_start(const char *const *script);

const char *fake_path(const struct fake_server *server);

/* Waits for the script's end, removes the socket, and frees. Returns what it read: an array of all calls, in order,
 * the caller's. Fails the running test if a call was not the expected one. */
json_t *fake_end(struct fake_server *server);

/* The same where nobody asks what was read. */
void fake_finish(struct fake_server *server);

/* How many of the calls are of this method. */
size_t fake_count(const json_t *calls, const char *method);

/* An integer parameter of the index-th call of a method; -1 if there is none. */
json_int_t fake_number(const json_t *calls, const char *method, size_t index, const char *param);

#endif
