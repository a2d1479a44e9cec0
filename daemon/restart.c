/* SPDX-License-Identifier: MIT */
#include "daemon/restart.h"

#include <errno.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

static char check_option[] = "--check-config";
static char config_option[] = "--config";

void td_restart_init(struct td_restart *self, char *const *argv, const char *config)
{
	ssize_t length = readlink("/proc/self/exe", self->program, sizeof(self->program) - 1);

	self->program[length > 0 ? length : 0] = '\0';
	self->argv = argv;
	memset(self->check, 0, sizeof(self->check));
	if (length <= 0)
		return;
	self->check[0] = self->program;
	self->check[1] = check_option;
	self->check[2] = config_option;
	self->check[3] = strdup(config);
	if (!self->check[3])
		self->check[0] = NULL;
}

int td_restart(const struct td_restart *self, struct td_error *err)
{
	fflush(NULL);
	if (self->program[0])
		(void)execv(self->program, self->argv);
	return td_error_set(err, "cannot start anew: %s",
			    self->program[0] ? strerror(errno) : "no /proc/self/exe");
}
