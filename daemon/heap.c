/* SPDX-License-Identifier: MIT */
#include "daemon/heap.h"

#include <stdlib.h>
#include <unistd.h>

#include <event2/event.h>
#include <jansson.h>

#include "daemon/exit_codes.h"

static void end(const char *words, size_t length)
{
	if (write(STDERR_FILENO, words, length) < 0)
		_exit(TD_EXIT_INTERNAL);
	_exit(TD_EXIT_INTERNAL);
}

void *td_heap_must(void *result)
{
	static const char words[] = "<3>front: out of memory; ending, so that everything goes off\n";

	if (!result)
		end(words, sizeof(words) - 1);
	return result;
}

void *td_heap_take(size_t size)
{
	return td_heap_must(calloc(1, size));
}

static void *take_more(void *old, size_t size)
{
	return td_heap_must(realloc(old, size));
}

static void fatal(int code)
{
	static const char words[] = "<3>front: the event loop failed; ending, so that everything goes off\n";

	(void)code;
	end(words, sizeof(words) - 1);
}

void td_heap_rule(void)
{
	event_set_fatal_callback(fatal);
	event_set_mem_functions(td_heap_take, take_more, free);
	json_set_alloc_funcs(td_heap_take, free);
}
