/* SPDX-License-Identifier: MIT */
/*
 * Error codes on the socket. Numbers and words down to -32603 are those of JSON-RPC 2.0, section 5.1; the
 * rest lies in the range that section leaves to the server (-32000 ... -32099).
 *
 * X(IDENT, code, "message", "when")
 */
#ifndef TD_WIRE_CODE_TABLE_H
#define TD_WIRE_CODE_TABLE_H

/* clang-format off */
#define TD_CODE_TABLE(X) \
	X(PARSE, -32700, "Parse error", \
	  "the line is no JSON text, too long or too deeply nested") \
	X(INVALID, -32600, "Invalid Request", \
	  "the JSON text is no call, a batch is empty or too large, or a call in it has to stand alone") \
	X(METHOD, -32601, "Method not found", \
	  "there is no such method") \
	X(PARAMS, -32602, "Invalid params", \
	  "a parameter is missing, unknown, of the wrong type, out of range, or names nothing") \
	X(INTERNAL, -32603, "Internal error", \
	  "the mover did not answer in time; take the call as not carried out") \
	X(REFUSED, -32001, "refused", \
	  "the call was understood and not carried out; `data.cause` says why") \
	X(NOT_READY, -32002, "not ready", \
	  "the daemon is just starting and does not know the machine's state yet") \
	X(BUSY, -32003, "busy", \
	  "too many connections, of all or of this user, or too many calls of this connection are unanswered")
/* clang-format on */

#endif
