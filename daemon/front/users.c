/* SPDX-License-Identifier: MIT */
#include "daemon/front/users.h"

#include <assert.h>
#include <errno.h>
#include <pwd.h>
#include <stdlib.h>
#include <string.h>

#include "daemon/heap.h"

/* Users whose connections are gone, but not what they have used up. */
enum { REMEMBERED = 16 };

void td_users_start(struct td_users *users, size_t connections)
{
	memset(users, 0, sizeof(*users));
	users->size = connections + REMEMBERED;
	users->user = td_heap_take(users->size * sizeof(users->user[0]));
}

void td_users_end(struct td_users *users)
{
	free(users->user);
	users->user = NULL;
	users->size = users->used = 0;
}

static struct td_user *known(const struct td_users *users, uid_t uid)
{
	for (size_t i = 0; i < users->used; i++)
		if (users->user[i].uid == uid)
			return &users->user[i];
	return NULL;
}

/* When all that it has used up is forgiven. */
static td_ns forgiven_ns(const struct td_user *user)
{
	return user->comes.full_ns > user->lines.full_ns ? user->comes.full_ns : user->lines.full_ns;
}

/* A new place, else that of the user without connections who needs it least. There are more places than connections, so there is
 * one. */
static struct td_user *place(struct td_users *users)
{
	struct td_user *least = NULL;

	if (users->used < users->size)
		return &users->user[users->used++];
	for (size_t i = 0; i < users->used; i++) {
		struct td_user *user = &users->user[i];

		if (user->count == 0 && (!least || forgiven_ns(user) < forgiven_ns(least)))
			least = user;
	}
	assert(least);
	return least;
}

static struct td_user *new_user(struct td_users *users, uid_t uid)
{
	struct td_user *user = place(users);

	*user = (struct td_user){
		.uid = uid,
		.limited = users->per_user > 0 && !(users->has_gateway && users->gateway == uid),
		.comes = td_rate_of(TD_S(1) / TD_USER_COMES_PER_S, TD_USER_COMES_AT_ONCE),
		.lines = td_rate_of(TD_S(1) / TD_USER_LINES_PER_S, TD_USER_LINES_AT_ONCE),
	};
	return user;
}

enum td_user_verdict td_users_come(struct td_users *users, uid_t uid, td_ns now_ns, struct td_user **user)
{
	struct td_user *one = known(users, uid);

	if (!one)
		one = new_user(users, uid);
	if (one->limited && one->count >= users->per_user)
		return TD_USER_HAS_ALL;
	if (one->limited && users->paced && !td_rate_take(&one->comes, now_ns))
		return TD_USER_TOO_FAST;
	one->count++;
	*user = one;
	return TD_USER_COMES;
}

void td_user_went(struct td_user *user)
{
	user->count--;
}

td_ns td_user_wait(const struct td_user *user, td_ns now_ns)
{
	return user->limited ? td_rate_wait(&user->lines, now_ns) : 0;
}

void td_user_line(struct td_user *user, td_ns now_ns)
{
	if (user->limited)
		(void)td_rate_take(&user->lines, now_ns);
}

static bool is_number(const char *name, uid_t *uid)
{
	char *end = NULL;

	if (name[0] < '0' || name[0] > '9')
		return false;
	errno = 0;
	unsigned long long number = strtoull(name, &end, 10);
	*uid = (uid_t)number;
	return errno == 0 && *end == '\0' && number < (uid_t)-1;
}

bool td_user_named(const char *name, uid_t *uid)
{
	if (is_number(name, uid))
		return true;
	const struct passwd *entry = getpwnam(name);

	if (!entry)
		return false;
	*uid = entry->pw_uid;
	return true;
}
