/* SPDX-License-Identifier: MIT */
#include "daemon/scribe/shared_bytes.h"

#include <errno.h>
#include <string.h>
#include <sys/mman.h>

void *td_shared_bytes(size_t size, struct td_error *err)
{
	void *memory = mmap(NULL, size, PROT_READ | PROT_WRITE, MAP_SHARED | MAP_ANONYMOUS, -1, 0);

	if (memory != MAP_FAILED)
		return memory;
	td_error_set(err, "no memory to share with the scribe process: %s", strerror(errno));
	return NULL;
}
