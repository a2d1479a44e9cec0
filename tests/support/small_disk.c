/* SPDX-License-Identifier: MIT */
#include "tests/support/small_disk.h"

#include <errno.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>

#include <cmocka.h>

static ssize_t put(void *cookie, const char *bytes, size_t size)
{
	struct small_disk *disk = cookie;

	if (disk->left <= 0) {
		errno = ENOSPC;
		return 0;
	}
	disk->left--;
	return (ssize_t)fwrite(bytes, 1, size, disk->kept);
}

void small_disk_open(struct small_disk *disk, long writes)
{
	*disk = (struct small_disk){.left = writes};
	disk->kept = open_memstream(&disk->bytes, &disk->length);
	assert_non_null(disk->kept);
	disk->file = fopencookie(disk, "w", (cookie_io_functions_t){.write = put});
	assert_non_null(disk->file);
	assert_int_equal(setvbuf(disk->file, NULL, _IONBF, 0), 0);
}

void small_disk_look(struct small_disk *disk)
{
	assert_int_equal(fflush(disk->kept), 0);
}

void small_disk_close(struct small_disk *disk)
{
	(void)fclose(disk->file);
	(void)fclose(disk->kept);
	free(disk->bytes);
}
