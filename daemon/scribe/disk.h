/* SPDX-License-Identifier: MIT */
/*
 * The seam between what is kept and the file system, so that tests can stall it, fill it and cut the power at any call.
 * Each member acts like the system call of its name: a result >= 0, or -1 with errno. All may block.
 */
#ifndef TD_DAEMON_DISK_H
#define TD_DAEMON_DISK_H

#include <stddef.h>
#include <stdint.h>
#include <sys/types.h>

struct td_disk {
	void *ctx;
	int (*open)(void *ctx, const char *path, int flags, mode_t mode);
	ssize_t (*write)(void *ctx, int fd, const void *bytes, size_t count);
	int (*fsync)(void *ctx, int fd);
	int (*close)(void *ctx, int fd);
	int (*rename)(void *ctx, const char *from, const char *to);
	int (*unlink)(void *ctx, const char *path);
	int (*mkdir)(void *ctx, const char *path, mode_t mode);
};

/* The real one. */
const struct td_disk *td_disk_real(void);

/* The one that small files (daemon/safe_file.h) are written to in this process; the real one unless another was put in its
 * place, which tests and faults on demand do. It must outlive its use; NULL: the real one again. */
const struct td_disk *td_disk_in_use(void);
void td_disk_use(const struct td_disk *disk);

/* Writes all of it, however many calls that takes. 0, or -1 with errno: some of it may be written. */
int td_disk_write_all(const struct td_disk *disk, int fd, const void *bytes, size_t count);

/* Makes the names in a directory durable. 0, or -1 with errno. */
int td_disk_sync_dir(const struct td_disk *disk, const char *dir);

#endif
