/* SPDX-License-Identifier: MIT */
#include <getopt.h>
#include <signal.h>
#include <stdio.h>
#include <sys/prctl.h>
#include <sys/signalfd.h>
#include <unistd.h>

#include "sim/board.h"
#include "sim/board_log.h"
#include "sim/plant_config.h"
#include "sim/verbs.h"

struct arguments {
	const char *config;
	const char *plant;
	const char *socket;
	const char *control;
	const char *log;
};

static int complain(const char *sentence)
{
	(void)fprintf(stderr, "tripdog-sim board: %s\n", sentence);
	return TD_VERB_FAILED;
}

static int usage(void)
{
	(void)complain(
		"form: board --config FILE --plant FILE [--socket SOCKET] [--control SOCKET] [--log FILE]");
	return TD_VERB_USAGE;
}

static bool parse(int argc, char **argv, struct arguments *arguments)
{
	static const struct option options[] = {
		{"config", required_argument, NULL, 'c'}, {"plant", required_argument, NULL, 'p'},
		{"socket", required_argument, NULL, 's'}, {"control", required_argument, NULL, 'k'},
		{"log", required_argument, NULL, 'l'},    {0}};
	int option;

	while ((option = getopt_long(argc, argv, "", options, NULL)) != -1)
		switch (option) {
		case 'c': arguments->config = optarg; break;
		case 'p': arguments->plant = optarg; break;
		case 's': arguments->socket = optarg; break;
		case 'k': arguments->control = optarg; break;
		case 'l': arguments->log = optarg; break;
		default: return false;
		}
	return optind == argc && arguments->config && arguments->plant;
}

static int show_faults(const struct td_config_faults *faults)
{
	for (size_t i = 0; i < faults->count && i < TD_FAULTS_MAX; i++)
		(void)complain(faults->fault[i].text);
	if (faults->count > TD_FAULTS_MAX)
		(void)complain("there are more faults than are shown here");
	return TD_VERB_FAILED;
}

/* A descriptor that is readable when SIGTERM or SIGINT came. */
static int stop_descriptor(void)
{
	sigset_t stops;

	(void)sigemptyset(&stops);
	(void)sigaddset(&stops, SIGTERM);
	(void)sigaddset(&stops, SIGINT);
	if (sigprocmask(SIG_BLOCK, &stops, NULL) < 0)
		return -1;
	return signalfd(-1, &stops, SFD_CLOEXEC | SFD_NONBLOCK);
}

static int run(const struct td_board_setup *setup)
{
	struct td_error err = {""};
	int stop_fd = stop_descriptor();
	struct td_board *board = stop_fd < 0 ? NULL : td_board_open(setup, &err);

	if (stop_fd < 0)
		return complain("no descriptor for signals");
	if (!board)
		return complain(err.text);
	/* The kernel may otherwise let us sleep 50 us longer than asked. */
	(void)prctl(PR_SET_TIMERSLACK, 1UL, 0UL, 0UL, 0UL);
	(void)printf("board ready at %s\n", setup->socket);
	(void)fflush(stdout);
	while (!td_board_turn(board, TD_NEVER, stop_fd))
		;
	td_board_close(board);
	(void)close(stop_fd);
	return TD_VERB_OK;
}

/* Runs the board with a log around it, if one is wanted. */
static int run_logged(struct td_board_setup *setup, const char *log_path)
{
	struct td_error err = {""};
	struct td_board_log *log = NULL;

	if (log_path) {
		log = td_board_log_open(log_path, setup->config, setup->model, &err);
		if (!log)
			return complain(err.text);
		setup->watcher = td_board_log_watcher(log);
		setup->flush = td_board_log_flush;
		setup->flush_ctx = log;
	}
	int status = run(setup);
	return td_board_log_close(log, &err) < 0 ? complain(err.text) : status;
}

int td_verb_board(int argc, char **argv)
{
	static struct td_config config;
	static struct td_plant_model model;
	static struct td_config_faults faults;
	struct arguments arguments = {0};

	if (!parse(argc, argv, &arguments))
		return usage();
	if (!td_config_read(arguments.config, &config, &faults) ||
	    !td_plant_config_read(arguments.plant, &config, &model, &faults))
		return show_faults(&faults);
	struct td_board_setup setup = {.socket = arguments.socket ? arguments.socket : config.board,
				       .control = arguments.control,
				       .config = &config,
				       .model = &model};
	if (setup.socket[0] == '\0')
		return complain("the configuration names no board; give --socket");
	return run_logged(&setup, arguments.log);
}
