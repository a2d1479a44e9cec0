/* SPDX-License-Identifier: MIT */
/* The C library's own functions, replaced by ones that count and then call it by its other names. */
#include "tests/kernel/heap_count.h"

#include <stddef.h>
#include <stdlib.h>

static unsigned long count;

/* NOLINTBEGIN(bugprone-reserved-identifier,cert-dcl37-c,cert-dcl51-cpp): these are the library's names */
extern void *__libc_malloc(size_t size);
extern void *__libc_calloc(size_t number, size_t size);
extern void *__libc_realloc(void *old, size_t size);

void *malloc(size_t size)
{
	count++;
	return __libc_malloc(size);
}

void *calloc(size_t nmemb, size_t size)
{
	count++;
	return __libc_calloc(nmemb, size);
}

void *realloc(void *ptr, size_t size)
{
	count++;
	return __libc_realloc(ptr, size);
}
/* NOLINTEND(bugprone-reserved-identifier,cert-dcl37-c,cert-dcl51-cpp) */

unsigned long heap_count(void)
{
	return count;
}
