/* SPDX-License-Identifier: MIT */
#include "daemon/board_lines.h"

#include "lines/gpio.h"

static uint32_t low_bits(unsigned int count)
{
	return count >= 32 ? UINT32_MAX : (UINT32_C(1) << count) - 1;
}

static struct td_lines *open_bench(const struct td_config *config, struct td_error *err)
{
	return td_lines_bench_open(config->board, low_bits(config->axes * 2U), low_bits(config->switches),
				   err);
}

struct td_lines *td_board_lines_open(const struct td_config *config, const char *file, struct td_error *err)
{
	struct td_lines_gpio_request request;

	if (config->backend == TD_BACKEND_BENCH)
		return open_bench(config, err);
	td_lines_gpio_wanted(config, file, &request);
	return td_lines_gpio_open(&request, err);
}

bool td_board_lines_absent(const struct td_config *config, const char *file, struct td_error *err)
{
	struct td_lines_gpio_request request;

	if (config->backend == TD_BACKEND_BENCH)
		return false;
	td_lines_gpio_wanted(config, file, &request);
	return td_lines_gpio_absent(&request, err);
}

unsigned td_board_lines_clear(const struct td_config *config, const char *file, struct td_error *err)
{
	struct td_lines_gpio_request request;

	if (config->backend == TD_BACKEND_GPIO) {
		td_lines_gpio_wanted(config, file, &request);
		return td_lines_gpio_clear(&request, err);
	}
	struct td_lines *lines = open_bench(config, err);

	if (!lines)
		return config->axes * 2U;
	lines->ops->close(lines);
	return 0;
}

const char *td_board_lines_lost(const struct td_config *config, const struct td_lines *lines)
{
	return config->backend == TD_BACKEND_GPIO ? td_lines_gpio_lost(lines) : NULL;
}
