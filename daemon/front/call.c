/* SPDX-License-Identifier: MIT */
#include <string.h>

#include "daemon/front/inside.h"
#include "daemon/heap.h"
#include "wire/message.h"
#include "wire/method.h"

/* One call on its way through the checks. */
struct ask {
	struct td_front *front;
	struct td_session *session;
	struct td_exchange *exchange; /* NULL: a notification, nobody is told anything */
	json_t *id;
	const struct td_method *method;
	struct td_args args;
	uint8_t axis; /* TD_ALL_AXES: none was named */
	uint8_t way;
};

static void answer_error(const struct ask *ask, json_t *error)
{
	if (ask->exchange)
		td_reply_error(&ask->exchange->reply, ask->id, error);
	else
		json_decref(error);
}

/* Who was refused a request is in touch with us all the same: its next one may be in time. */
static json_t *refusal_object(const struct ask *ask, enum td_cause cause)
{
	json_t *refusal = td_refusal_object(cause);
	json_t *data = json_object_get(refusal, "data");

	if (ask->method->id == TD_METHOD_REQUEST)
		json_object_set_new(data, "token", td_front_token(ask->session));
	if (cause == TD_CAUSE_OTHER_PROTOCOL)
		json_object_set_new(data, "protocol", json_integer(TD_PROTOCOL));
	return refusal;
}

/* Refused here: the mover never hears of it. Of a renewal it is not told: the end of its hold was. */
static void refuse(const struct ask *ask, enum td_cause cause)
{
	td_front_metrics_refused(ask->front, cause);
	if (ask->args.seq <= 0)
		td_front_tell_refused(ask->front, ask->session, cause);
	answer_error(ask, refusal_object(ask, cause));
}

static void answer_fault(const struct ask *ask, const struct td_fault *fault)
{
	answer_error(ask, td_fault_object(fault));
}

/* --- names ----------------------------------------------------------------------------------------- */

bool td_front_unknown(struct td_fault *fault, const char *remedy, const char *what, const char *name,
		      const struct td_nearest *near)
{
	return td_fault_set(fault, TD_CODE_PARAMS, remedy, "there is no %s \"%s\"%s%s%s", what, name,
			    near->best ? "; did you mean \"" : "", near->best ? near->best : "",
			    near->best ? "\"?" : "");
}

static bool unknown_axis(const struct ask *ask, struct td_fault *fault)
{
	const struct td_config *config = ask->front->config;
	struct td_nearest near = td_nearest_to(ask->args.axis);

	for (uint8_t axis = 0; axis < config->axes; axis++)
		td_nearest_offer(&near, config->axis[axis].name);
	return td_front_unknown(fault, "call describe for the axes there are", "axis", ask->args.axis, &near);
}

static bool find_names(struct ask *ask, struct td_fault *fault)
{
	const struct td_config *config = ask->front->config;

	ask->axis = TD_ALL_AXES;
	ask->way = TD_NO_WAY;
	if (!ask->args.axis)
		return true;
	ask->axis = td_config_axis(config, ask->args.axis);
	if (ask->axis == TD_NO_AXIS)
		return unknown_axis(ask, fault);
	if (!ask->args.way)
		return true;
	ask->way = td_config_way(config, ask->axis, ask->args.way);
	if (ask->way == TD_NO_WAY) {
		const struct td_config_axis *axis = &config->axis[ask->axis];

		return td_fault_set(fault, TD_CODE_PARAMS, "call describe for the ways there are",
				    "the axis \"%s\" has no way \"%s\"; its ways are \"%s\" and \"%s\"",
				    axis->name, ask->args.way, axis->way_name[0], axis->way_name[1]);
	}
	return true;
}

/* --- what each method does --------------------------------------------------------------------------- */

static struct td_described described(const struct ask *ask)
{
	return (struct td_described){.role = ask->session->role, .connections = ask->session->door->most};
}

/* The one version there is must be among those the client speaks. Saying it again only gets a new token. */
static void hello(struct ask *ask)
{
	int64_t least = ask->args.protocol_least < 0 ? ask->args.protocol : ask->args.protocol_least;

	if (least > TD_PROTOCOL || ask->args.protocol < TD_PROTOCOL) {
		refuse(ask, TD_CAUSE_OTHER_PROTOCOL);
		return;
	}
	struct td_described to = described(ask);
	json_t *result = td_hello(ask->front->config, &to);

	json_object_set_new(result, "token", td_front_token(ask->session));
	td_reply_result(&ask->exchange->reply, ask->id, result);
}

static void describe(struct ask *ask)
{
	struct td_described to = described(ask);

	td_reply_result(&ask->exchange->reply, ask->id, td_describe(ask->front->config, &to));
}

/* How the traces are doing is the keeper's business, and the turn is that of who asks. */
static json_t *status_object(const struct ask *ask)
{
	json_t *object = td_mirror_status(&ask->front->mirror, td_clock_now(), ask->session->id);

	json_object_set_new(object, "turn", td_front_turn_object(ask->session));
	json_object_set_new(object, "quiet", json_boolean(td_front_quiet(ask->front)));
	json_object_set_new(object, "events", td_front_follow_object(ask->front));
	if (ask->session->role == TD_ROLE_KEEPER && ask->front->tally)
		json_object_set_new(object, "traces", td_tally_object(ask->front->tally));
	return object;
}

void td_front_not_ready(struct td_fault *fault)
{
	td_fault_set(fault, TD_CODE_NOT_READY, "ask again in a moment",
		     "the machine's state is not known yet");
}

static bool is_ready(const struct ask *ask)
{
	struct td_fault fault;

	if (td_mirror_complete(&ask->front->mirror))
		return true;
	td_front_not_ready(&fault);
	answer_fault(ask, &fault);
	return false;
}

static void status(struct ask *ask)
{
	if (is_ready(ask))
		td_reply_result(&ask->exchange->reply, ask->id, status_object(ask));
}

static void follow(struct ask *ask)
{
	if (!is_ready(ask))
		return;
	json_t *object = status_object(ask);

	json_object_set_new(object, "events", td_front_follow_begin(ask->session, ask->exchange, &ask->args));
	td_reply_result(&ask->exchange->reply, ask->id, object);
}

/* So long an answer that sixteen of them would be more than a client may be behind in reading. */
static void metrics(struct ask *ask)
{
	struct td_fault fault;
	json_t *result = NULL;

	if (ask->exchange->reply.batch)
		td_fault_set(&fault, TD_CODE_INVALID, "send it in a line of its own",
			     "metrics is not for a batch: its answer is long");
	else
		result = td_front_metrics(ask->session, ask->args.form, &fault);
	if (result)
		td_reply_result(&ask->exchange->reply, ask->id, result);
	else
		answer_fault(ask, &fault);
}

static void order(struct ask *ask, enum td_event_kind kind)
{
	struct td_order what = {.kind = kind, .axis = ask->axis, .way = ask->way};

	what.hold = ask->args.hold < 0 ? 0 : (uint32_t)ask->args.hold;
	what.seq = ask->args.seq < 0 ? 0 : (uint32_t)ask->args.seq;
	what.lease_ns = ask->args.lease_ms < 0 ? ask->front->config->lease_ns : TD_MS(ask->args.lease_ms);
	td_front_order(ask->front, ask->session, &what, ask->exchange, ask->id);
}

/* R11: the core remembers the last hold of an axis only; that a number is not used twice by one connection, whoever
 * held the axis meanwhile, is seen here. */
static bool uses_up_hold(struct ask *ask)
{
	uint32_t hold = (uint32_t)ask->args.hold;

	if (ask->args.seq != 0)
		return true;
	if (hold <= ask->session->highest_hold)
		return false;
	ask->session->highest_hold = hold;
	return true;
}

/* The front's part of the refusals, in the order in which they help most: who has no turn need not care for tokens. */
static enum td_cause request_refusal(struct ask *ask)
{
	enum td_cause turn = td_front_turn_refusal(ask->session);
	enum td_cause token = td_front_token_judge(ask->session, ask->args.token);

	if (ask->session->gone)
		return TD_CAUSE_CLIENT_GONE;
	if (turn != TD_CAUSE_NONE)
		return turn;
	if (token != TD_CAUSE_NONE)
		return token;
	if (ask->front->config->axis[ask->axis].loud && td_front_quiet(ask->front))
		return TD_CAUSE_QUIET;
	/* A late one is of a past that is over: it is no use of the turn, either. */
	td_front_turn_use(ask->session);
	return uses_up_hold(ask) ? TD_CAUSE_NONE : TD_CAUSE_HOLD_ENDED;
}

static void request(struct ask *ask)
{
	enum td_cause why_not = request_refusal(ask);

	if (why_not != TD_CAUSE_NONE)
		refuse(ask, why_not);
	else
		order(ask, TD_EVENT_REQUEST);
}

static void release(struct ask *ask)
{
	order(ask, TD_EVENT_RELEASE);
}

static void stop(struct ask *ask)
{
	order(ask, TD_EVENT_STOP);
}

static void latch(struct ask *ask)
{
	order(ask, TD_EVENT_LATCH);
}

static void reset(struct ask *ask)
{
	order(ask, TD_EVENT_RESET);
}

static void cooled(struct ask *ask)
{
	order(ask, TD_EVENT_COOLED);
}

static void untwisted(struct ask *ask)
{
	order(ask, TD_EVENT_UNTWISTED);
}

/* Nothing of it goes to the mover but the end of holds. */
static void turn(struct ask *ask)
{
	enum td_cause cause = td_front_turn_call(ask->session, ask->method->id);
	json_t *result;

	if (td_cause_kind(cause) == TD_KIND_REFUSAL) {
		refuse(ask, cause);
		return;
	}
	if (!ask->exchange)
		return;
	result = td_cause_object(cause);
	json_object_set_new(result, "result", json_string(td_cause_info(cause)->name));
	json_object_set_new(result, "turn", td_front_turn_object(ask->session));
	td_reply_result(&ask->exchange->reply, ask->id, result);
}

static void (*const doers[TD_METHODS])(struct ask *) = {
	[TD_METHOD_HELLO] = hello,   [TD_METHOD_DESCRIBE] = describe,   [TD_METHOD_STATUS] = status,
	[TD_METHOD_FOLLOW] = follow, [TD_METHOD_REQUEST] = request,     [TD_METHOD_RELEASE] = release,
	[TD_METHOD_STOP] = stop,     [TD_METHOD_LATCH] = latch,         [TD_METHOD_RESET] = reset,
	[TD_METHOD_COOLED] = cooled, [TD_METHOD_UNTWISTED] = untwisted, [TD_METHOD_JOIN] = turn,
	[TD_METHOD_LEAVE] = turn,    [TD_METHOD_NEXT] = turn,           [TD_METHOD_CLOSE] = turn,
	[TD_METHOD_OPEN] = turn,     [TD_METHOD_METRICS] = metrics,
};

/* --- the checks, in their order ------------------------------------------------------------------------ */

/* Doubt resolves to off: who misspells a stop still wanted one. Everything stops, and the fault is told. */
static void stop_anyway(const struct ask *ask)
{
	struct td_order what = {.kind = TD_EVENT_STOP, .axis = TD_ALL_AXES, .way = TD_NO_WAY};

	td_front_order(ask->front, ask->session, &what, NULL, NULL);
}

static void carry_out(struct ask *ask, const struct td_call *call)
{
	struct td_fault fault;

	ask->method = td_method_find(call->method, &fault);
	if (!ask->method) {
		answer_fault(ask, &fault);
		return;
	}
	if (!td_args_read(ask->method, call->params, &ask->args, &fault) || !find_names(ask, &fault)) {
		if (ask->method->id == TD_METHOD_STOP || ask->method->id == TD_METHOD_LATCH)
			stop_anyway(ask);
		answer_fault(ask, &fault);
		return;
	}
	if (ask->method->role > ask->session->role)
		refuse(ask, TD_CAUSE_NOT_ALLOWED);
	else if (ask->exchange || ask->method->without_id == TD_WITHOUT_ID_DONE)
		doers[ask->method->id](ask);
}

/* True where it is a call at all. */
static bool take_call(struct td_exchange *exchange, const struct td_message *message, size_t index)
{
	struct td_session *session = exchange->session;
	struct ask ask = {.front = session->front, .session = session, .exchange = exchange};
	struct td_call call;
	struct td_fault fault = {.code = TD_CODE_NONE};
	bool is_call = td_message_call(message, index, &call, &fault);

	ask.id = call.id;
	if (!is_call) {
		answer_fault(&ask, &fault);
		return false;
	}
	if (!call.id)
		ask.exchange = NULL;
	carry_out(&ask, &call);
	return true;
}

/* Promises one response more than there is, so that the exchange outlives the giving of its orders: an
 * order may be answered while the next call of the batch is still being read. */
static void begin(struct td_exchange *exchange, bool batch)
{
	td_reply_start(&exchange->reply, batch);
	td_reply_promise(&exchange->reply);
}

/* True where every part of it was a call. */
static bool take_message(struct td_exchange *exchange, const char *line, size_t length)
{
	struct td_message message;
	struct td_fault fault;
	bool calls = true;

	if (!td_message_read(line, length, &message, &fault)) {
		begin(exchange, false);
		td_reply_error(&exchange->reply, NULL, td_fault_object(&fault));
		return false;
	}
	begin(exchange, message.batch);
	td_session_count_calls(exchange->session, message.count);
	for (size_t i = 0; i < message.count; i++)
		calls = take_call(exchange, &message, i) && calls;
	td_message_free(&message);
	return calls;
}

static bool is_urgent(const struct td_message *message, size_t index)
{
	struct td_call call;
	struct td_fault fault;

	return td_message_call(message, index, &call, &fault) &&
	       (strcmp(call.method, "stop") == 0 || strcmp(call.method, "latch") == 0);
}

bool td_front_maybe_urgent(const char *line, size_t length)
{
	return memmem(line, length, "stop", 4) || memmem(line, length, "latch", 5) ||
	       memchr(line, '\\', length);
}

bool td_front_urgent(const char *line, size_t length)
{
	struct td_message message;
	struct td_fault fault;
	bool urgent = false;

	if (!td_message_read(line, length, &message, &fault))
		return false;
	for (size_t i = 0; i < message.count; i++)
		urgent = urgent || is_urgent(&message, i);
	td_message_free(&message);
	return urgent;
}

void td_front_line(struct td_session *session, const char *line, size_t length)
{
	struct td_exchange *exchange = td_heap_take(sizeof(*exchange));

	exchange->session = session;
	TAILQ_INSERT_TAIL(&session->exchanges, exchange, link);
	if (!take_message(exchange, line, length))
		session->malformed++;
	if (td_reply_keep(&exchange->reply))
		td_session_finish(exchange);
}
