/* SPDX-License-Identifier: MIT */
/* What the scripted daemons of the client's tests say. */
#ifndef TD_TESTS_CLI_SCRIPT_H
#define TD_TESTS_CLI_SCRIPT_H

/* clang-format off */
#define DESCRIPTION \
	("={\"machine\":\"glasshouse cart\",\"version\":\"0.1.0\",\"role\":\"keeper\"," \
	 "\"lease\":{\"default_ms\":150,\"min_ms\":50,\"max_ms\":1500},\"limits\":{\"visitor_resets_per_hour\":6}," \
	 "\"axes\":[{\"name\":\"boom\",\"ways\":[{\"name\":\"lower\",\"end_switch\":\"boom_bottom\"}," \
	 "{\"name\":\"raise\",\"end_switch\":null}]}]," \
	 "\"switches\":[{\"name\":\"boom_bottom\",\"contact\":\"normally-closed\"}]," \
	 "\"methods\":[{\"name\":\"status\",\"help\":\"how it is\",\"params\":[]}," \
	 "{\"name\":\"lift\",\"help\":\"move up\",\"params\":[" \
	 "{\"name\":\"axis\",\"type\":\"name\",\"min\":1,\"max\":31,\"required\":true}," \
	 "{\"name\":\"hold\",\"type\":\"number\",\"min\":1,\"max\":9,\"required\":true}," \
	 "{\"name\":\"lease_ms\",\"type\":\"number\",\"min\":50,\"max\":150,\"required\":false}," \
	 "{\"name\":\"why\",\"type\":\"name\",\"min\":1,\"max\":9,\"required\":false}]}]," \
	 "\"cautions\":[\"Keep fingers away.\"]}")

/* News about the boom going up, held by whoever reads them. */
#define NEWS(cause, kind, sentence) \
	("<{\"jsonrpc\":\"2.0\",\"method\":\"news\",\"params\":{\"n\":1,\"at_ns\":1,\"cause\":\"" cause "\"," \
	 "\"kind\":\"" kind "\",\"rule\":\"R2\",\"sentence\":\"" sentence "\",\"remedy\":\"\"," \
	 "\"axis\":\"boom\",\"way\":\"raise\",\"holder\":\"you\",\"hold\":1}}")

#define NEWS_OF_OTHERS \
	("<{\"jsonrpc\":\"2.0\",\"method\":\"news\",\"params\":{\"n\":1,\"at_ns\":1,\"cause\":\"end-reached\"," \
	 "\"kind\":\"stop\",\"rule\":\"R2\",\"sentence\":\"elsewhere\",\"axis\":\"vent\",\"way\":\"open\"}}")

#define REFUSAL(cause) \
	("!{\"code\":-32001,\"message\":\"refused\",\"data\":{\"cause\":\"" cause "\",\"rule\":\"R2\"," \
	 "\"sentence\":\"the sentence\",\"remedy\":\"the remedy\"}}")

#define REFUSAL_FOR_NOW \
	("!{\"code\":-32001,\"message\":\"refused\",\"data\":{\"cause\":\"resets-spent\",\"rule\":\"R11\"," \
	 "\"sentence\":\"the sentence\",\"remedy\":\"the remedy\",\"wait_ms\":90000}}")

#define NO_SUCH_AXIS \
	("!{\"code\":-32602,\"message\":\"Invalid params\",\"data\":{\"sentence\":" \
	 "\"there is no axis \\\"bom\\\"; did you mean \\\"boom\\\"?\",\"remedy\":\"call describe\"}}")

#define STOPPED_ANSWER \
	("={\"result\":\"stopped\",\"cause\":\"stopped\",\"rule\":\"R7\"," \
	 "\"sentence\":\"the stop was carried out\",\"remedy\":\"nothing\"}")

/* A hold up to its start. */
#define BEGIN ">describe", DESCRIPTION, ">follow", "={}", ">request", "={\"result\":\"started\"}"

#define ARGS(...) ((const char *const[]){__VA_ARGS__, NULL})
/* clang-format on */

#endif
