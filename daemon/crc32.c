/* SPDX-License-Identifier: MIT */
#include "daemon/crc32.h"

uint32_t td_crc32(const void *bytes, size_t count)
{
	const unsigned char *at = bytes;
	uint32_t sum = UINT32_MAX;

	while (count-- > 0) {
		sum ^= *at++;
		for (int bit = 0; bit < 8; bit++)
			sum = (sum >> 1) ^ ((sum & 1) != 0 ? UINT32_C(0xedb88320) : 0);
	}
	return ~sum;
}
