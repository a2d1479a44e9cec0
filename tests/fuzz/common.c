/* SPDX-License-Identifier: MIT */
#include <string.h>

#include "tests/fuzz/fuzz.h"

void must_be_whole(bool read, const struct td_config_faults *faults)
{
	size_t listed = faults->count < TD_FAULTS_MAX ? faults->count : TD_FAULTS_MAX;

	must(read == (faults->count == 0), "a file is read, or it has faults");
	for (size_t i = 0; i < listed; i++) {
		must(memchr(faults->fault[i].text, '\0', TD_ERROR_MAX) != NULL, "a sentence is terminated");
		must(faults->fault[i].text[0] != '\0', "a fault has a sentence");
	}
}

bool is_all_zero(const void *bytes, size_t count)
{
	const unsigned char *byte = bytes;

	for (size_t i = 0; i < count; i++)
		if (byte[i] != 0)
			return false;
	return true;
}
