/* SPDX-License-Identifier: MIT */
/*
 * The verbs of tripdog-sim: `tripdog-sim VERB ...` calls the verb's function with argv[0] = VERB and the
 * rest of the command line. Each returns the exit status of the program (TD_VERB_...).
 *
 * To add a verb: declare its function here, write it in sim/verb_NAME.c, add its row to the table in
 * sim/tripdog-sim.c, describe it in docs/tripdog-sim.1.
 */
#ifndef TD_SIM_VERBS_H
#define TD_SIM_VERBS_H

/* Exit status of every verb. */
enum td_verb_status {
	TD_VERB_OK = 0,     /* done */
	TD_VERB_FAILED = 1, /* it could not be done, or the answer was a refusal; a sentence is on stderr */
	TD_VERB_USAGE = 2,  /* the command line was wrong; nothing was started */
	TD_VERB_DIFFERENT = 3, /* replay: done, and this core does something else than the trace says */
};

int td_verb_board(int argc, char **argv);  /* a simulated board for a daemon to hold */
int td_verb_poke(int argc, char **argv);   /* one command to a running board */
int td_verb_plant(int argc, char **argv);  /* the keys of a plant file */
int td_verb_demo(int argc, char **argv);   /* the demonstration */
int td_verb_draw(int argc, char **argv);   /* a trace as a timing diagram */
int td_verb_replay(int argc, char **argv); /* a trace against the core of this build */

#endif
