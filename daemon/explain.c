/* SPDX-License-Identifier: MIT */
#include "daemon/explain.h"

#include "config/explain.h"

void td_explain(enum td_subject subject, bool mdoc, FILE *out)
{
	switch (subject) {
	case TD_SUBJECT_PROTOCOL: td_explain_protocol(mdoc, out); break;
	case TD_SUBJECT_CAUSES: td_explain_causes(mdoc, out); break;
	case TD_SUBJECT_CONFIG:
	case TD_SUBJECTS:
	default: mdoc ? td_config_explain_mdoc(out) : td_config_explain(out); break;
	}
}
