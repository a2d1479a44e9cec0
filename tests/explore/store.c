/* SPDX-License-Identifier: MIT */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "tests/explore/explore.h"

enum { FIRST_ROOM = 1 << 16 };

static void *need(void *memory)
{
	if (memory)
		return memory;
	(void)fprintf(stderr, "explore: no memory for more states\n");
	abort();
}

static uint64_t hash(const struct key *key)
{
	uint64_t mixed = 0;

	/* multiply and fold, with the golden ratio's digits; any good mixing would do */
	for (size_t i = 0; i < sizeof(key->word) / sizeof(key->word[0]); i++) {
		mixed = (mixed ^ key->word[i]) * UINT64_C(0x9e3779b97f4a7c15);
		mixed ^= mixed >> 29;
	}
	return mixed;
}

/* Where the key stands, or where it would. */
static uint32_t *find(const struct store *store, const struct key *key)
{
	uint32_t at = (uint32_t)(hash(key) >> 20) & (store->slots - 1);

	while (store->slot[at] != 0 && memcmp(&store->key[store->slot[at] - 1], key, sizeof(*key)) != 0)
		at = (at + 1) & (store->slots - 1);
	return &store->slot[at];
}

static void grow(struct store *store)
{
	store->room *= 2;
	store->slots = store->room * 2;
	store->key = need(realloc(store->key, store->room * sizeof(*store->key)));
	store->origin = need(realloc(store->origin, store->room * sizeof(*store->origin)));
	free(store->slot);
	store->slot = need(calloc(store->slots, sizeof(*store->slot)));
	for (uint32_t i = 0; i < store->count; i++)
		*find(store, &store->key[i]) = i + 1;
}

void store_open(struct store *store)
{
	*store = (struct store){.room = FIRST_ROOM / 2};
	grow(store);
}

void store_close(struct store *store)
{
	free(store->key);
	free(store->origin);
	free(store->slot);
	*store = (struct store){0};
}

bool store_add(struct store *store, const struct key *key, struct origin origin)
{
	uint32_t *slot = find(store, key);

	if (*slot != 0)
		return false;
	if (store->count == store->room) {
		grow(store);
		slot = find(store, key);
	}
	store->key[store->count] = *key;
	store->origin[store->count] = origin;
	*slot = ++store->count;
	return true;
}
