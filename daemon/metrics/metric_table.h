/* SPDX-License-Identifier: MIT */
/*
 * The metrics: feeds what is told, the documentation's check and the tests. Names and units as OpenMetrics 1.0 wants them
 * (github.com/prometheus/OpenMetrics, specification/OpenMetrics.md): base units, the unit last in the name.
 *
 * X(word, "name", TYPE, "unit", ROLE, "labels", "help")
 *	TYPE: GAUGE, COUNTER, HISTOGRAM, INFO.
 *	ROLE: who is told. VISITOR means everybody.
 *	labels: in their order, with commas.
 */
#ifndef TD_DAEMON_METRIC_TABLE_H
#define TD_DAEMON_METRIC_TABLE_H

/* clang-format off */
#define TD_METRIC_TABLE(X) \
	X(build, "tripdog_build", INFO, "", VISITOR, "version", \
	  "the program that runs") \
	X(start, "tripdog_start_time_seconds", GAUGE, "seconds", VISITOR, "", \
	  "when the daemon started, in seconds since 1970, by what the system's clock says now") \
	X(up, "tripdog_up_seconds", GAUGE, "seconds", VISITOR, "", \
	  "how long the daemon has been running") \
	X(armed, "tripdog_armed", GAUGE, "", VISITOR, "", \
	  "1: the machine moves when asked; 0: nothing moves") \
	X(latched, "tripdog_latched", GAUGE, "", VISITOR, "", \
	  "1: the latched stop is on") \
	X(config_refused, "tripdog_config_refused", GAUGE, "", VISITOR, "", \
	  "1: a new configuration was refused, and the one before it is in force") \
	X(tripped, "tripdog_tripped", GAUGE, "", VISITOR, "axis", \
	  "1: the axis has tripped and was not reset yet") \
	X(trips, "tripdog_trips", COUNTER, "", VISITOR, "axis,cause", \
	  "protective stops") \
	X(stops, "tripdog_stops", COUNTER, "", VISITOR, "cause", \
	  "holds that ended without a trip") \
	X(latched_stops, "tripdog_latched_stops", COUNTER, "", VISITOR, "cause", \
	  "latched stops made; kept over a restart counts as one") \
	X(stop_latency, "tripdog_stop_latency_seconds", HISTOGRAM, "seconds", VISITOR, "", \
	  "from what demanded a stop (an edge, an order heard, a time due) to the outputs written") \
	X(run, "tripdog_run_seconds", COUNTER, "seconds", VISITOR, "axis,way", \
	  "powered time since the daemon started") \
	X(starts, "tripdog_starts", COUNTER, "", VISITOR, "axis,way", \
	  "starts since the daemon started") \
	X(life_run, "tripdog_life_run_seconds", GAUGE, "seconds", VISITOR, "axis,way", \
	  "powered time ever, over restarts; a sudden end of the daemon loses what was not saved") \
	X(life_starts, "tripdog_life_starts", GAUGE, "", VISITOR, "axis,way", \
	  "starts ever, over restarts") \
	X(heat, "tripdog_heat_ratio", GAUGE, "ratio", VISITOR, "axis", \
	  "temperature rise of the winding by the duty model; 1 is the limit") \
	X(duty, "tripdog_duty_ratio", GAUGE, "ratio", VISITOR, "axis,span", \
	  "powered time within the span that ends now; 1 is all that the duty allows") \
	X(noise, "tripdog_noise_pulses", COUNTER, "", VISITOR, "switch", \
	  "active pulses of a switch that were too short to stop anything") \
	X(refusals, "tripdog_refusals", COUNTER, "", VISITOR, "cause", \
	  "calls that were understood and not carried out") \
	X(connections, "tripdog_connections", GAUGE, "", VISITOR, "role", \
	  "connections now") \
	X(connections_made, "tripdog_connections_made", COUNTER, "", VISITOR, "role", \
	  "connections let in") \
	X(turned_away, "tripdog_connections_turned_away", COUNTER, "", VISITOR, "role", \
	  "connections closed at once because there were too many") \
	X(in_line, "tripdog_visitors_in_line", GAUGE, "", VISITOR, "", \
	  "visitors who wait for a turn or have it") \
	X(entries_lost, "tripdog_trace_entries_lost", COUNTER, "", KEEPER, "", \
	  "entries of log and trace that found no room on their way to the disk") \
	X(entries_unwritten, "tripdog_trace_entries_unwritten", COUNTER, "", KEEPER, "", \
	  "entries that the disk refused, or that were beyond the daily budget") \
	X(traced_today, "tripdog_traced_today_bytes", GAUGE, "bytes", KEEPER, "", \
	  "traces written today")

/*
 * How they can be told: X(IDENT, "name", "media type", "help"). Collectors that read files want `text`: they do not know what
 * is new in OpenMetrics (the suffix of counters outside their name, the type info, UNIT and EOF).
 */
#define TD_METRIC_FORM_TABLE(X) \
	X(OPENMETRICS, "openmetrics", "application/openmetrics-text; version=1.0.0; charset=utf-8", \
	  "OpenMetrics 1.0") \
	X(TEXT, "text", "text/plain; version=0.0.4; charset=utf-8", \
	  "the text format 0.0.4 that came before it, for collectors that read files")
/* clang-format on */

#endif
