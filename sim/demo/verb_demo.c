/* SPDX-License-Identifier: MIT */
/* tripdog-sim demo: plays every scene and draws it. */
#include <errno.h>
#include <getopt.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>

#include "daemon/clock.h"
#include "sim/demo/picture.h"
#include "sim/demo/stage.h"
#include "sim/demo/straight.h"
#include "sim/demo/tell.h"
#include "sim/plant_config.h"
#include "sim/verbs.h"

struct demo {
	const char *config;
	const char *plant;
	struct td_stage stage;
	struct td_outcome outcome[TD_SCENES_MAX];
	size_t count;
};

static void usage(FILE *out)
{
	fputs("usage: tripdog-sim demo [--programs DIR] [--out DIR] [--config FILE] [--plant FILE]\n"
	      "\n"
	      "Plays what goes wrong with a machine nobody watches, against the real daemon on the bench, "
	      "and\n"
	      "draws each scene as DIR/NAME.svg. Takes about a minute.\n"
	      "\n"
	      "  --programs DIR  where tripdogd and tripdog are (build/plain)\n"
	      "  --out DIR       where pictures and logs go (build/demo)\n"
	      "  --config FILE   the machine (docs/examples/glasshouse.conf)\n"
	      "  --plant FILE    its mechanics (docs/examples/glasshouse.plant)\n"
	      "\n"
	      "exit codes: 0 all as expected, 1 something was not, 2 wrong options\n",
	      out);
}

static int options(int argc, char **argv, struct demo *demo)
{
	static const struct option longs[] = {
		{"programs", required_argument, NULL, 'p'}, {"out", required_argument, NULL, 'o'},
		{"config", required_argument, NULL, 'c'},   {"plant", required_argument, NULL, 'l'},
		{"help", no_argument, NULL, 'h'},           {NULL, 0, NULL, 0},
	};
	int option;

	optind = 1;
	while ((option = getopt_long(argc, argv, "h", longs, NULL)) != -1) {
		if (option == 'p')
			demo->stage.programs = optarg;
		else if (option == 'o')
			demo->stage.out = optarg;
		else if (option == 'c')
			demo->config = optarg;
		else if (option == 'l')
			demo->plant = optarg;
		else
			usage(option == 'h' ? stdout : stderr);
		if (option == 'h' || option == '?')
			return option == 'h' ? TD_VERB_OK : TD_VERB_USAGE;
	}
	if (optind < argc) {
		usage(stderr);
		return TD_VERB_USAGE;
	}
	return -1;
}

static bool read_files(struct demo *demo)
{
	static struct td_config_faults faults;
	bool good = td_config_read(demo->config, &demo->stage.config, &faults) &&
		    td_plant_config_read(demo->plant, &demo->stage.config, &demo->stage.model, &faults);

	for (size_t i = 0; i < faults.count && i < TD_FAULTS_MAX; i++)
		fprintf(stderr, "%s\n", faults.fault[i].text);
	if (good && mkdir(demo->stage.out, 0755) != 0 && errno != EEXIST) {
		fprintf(stderr, "cannot make %s: %s\n", demo->stage.out, strerror(errno));
		good = false;
	}
	demo->stage.config_path = demo->config;
	return good;
}

static int play_acts(struct td_stage *stage, const struct td_scene *scene, struct td_error *err)
{
	for (size_t i = 0; i < TD_ACTS_MAX && scene->act[i].kind != TD_ACT_NONE; i++) {
		const struct td_act *act = &scene->act[i];

		if (!td_stage_run(stage, stage->zero_ns + TD_MS(act->at_ms), td_tell_news))
			return td_error_set(err, "the daemon is gone");
		td_tell_act(stage, act);
		if (td_stage_act(stage, act, td_tell_news, err) != 0)
			return -1;
	}
	if (!td_stage_run(stage, stage->zero_ns + TD_MS(scene->length_ms), td_tell_news))
		return td_error_set(err, "the daemon is gone");
	return 0;
}

static int judge(struct demo *demo, const struct td_scene *scene, struct td_outcome *outcome,
		 struct td_error *err)
{
	outcome->scene = scene;
	outcome->with = td_stage_toll(&demo->stage);
	if (td_demo_straight(scene, &demo->stage.config, &demo->stage.model, &outcome->without) != 0)
		return td_error_set(err, "no memory");
	outcome->as_expected = td_record_has(&demo->stage.record, scene->expected) &&
			       outcome->with.skipped_teeth == 0 && outcome->with.both_high == 0;
	return 0;
}

static int play(struct demo *demo, const struct td_scene *scene, struct td_error *err)
{
	struct td_stage *stage = &demo->stage;
	struct td_outcome *outcome = &demo->outcome[demo->count++];
	char picture[TD_DEMO_PATH_MAX];

	td_tell_scene(demo->count, scene);
	if (td_stage_begin(stage, err) != 0)
		return -1;
	int result = play_acts(stage, scene, err);

	if (result == 0)
		result = judge(demo, scene, outcome, err);
	td_stage_end(stage);
	snprintf(picture, sizeof(picture), "%s/%s.svg", stage->out, scene->file);
	if (result == 0)
		result = td_demo_picture(scene, &stage->record, stage->zero_ns, picture, err);
	if (result == 0)
		td_tell_outcome(outcome, picture);
	td_record_free(&stage->record);
	return result;
}

static int play_all(struct demo *demo)
{
	bool good = true;
	const struct td_scene *scene;
	struct td_error err = {""};

	td_tell_opening();
	for (size_t i = 0; i < TD_SCENES_MAX && (scene = td_scene_at(i)) != NULL; i++) {
		if (play(demo, scene, &err) != 0) {
			fprintf(stderr, "tripdog-sim demo: %s\n", err.text);
			return TD_VERB_FAILED;
		}
		good &= demo->outcome[i].as_expected;
	}
	td_tell_table(demo->outcome, demo->count);
	return good ? TD_VERB_OK : TD_VERB_FAILED;
}

int td_verb_demo(int argc, char **argv)
{
	static struct demo demo = {.config = "docs/examples/glasshouse.conf",
				   .plant = "docs/examples/glasshouse.plant",
				   .stage = {.programs = "build/plain", .out = "build/demo"}};
	int early = options(argc, argv, &demo);

	if (early >= 0)
		return early;
	return read_files(&demo) ? play_all(&demo) : TD_VERB_FAILED;
}
