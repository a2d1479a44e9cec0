/* SPDX-License-Identifier: MIT */
#include "core/crc.h"

/* What the lower and the upper half of a byte come to when eight bits are shifted out. */
static const uint32_t lower[16] = {
	UINT32_C(0x00000000), UINT32_C(0x77073096), UINT32_C(0xee0e612c), UINT32_C(0x990951ba),
	UINT32_C(0x076dc419), UINT32_C(0x706af48f), UINT32_C(0xe963a535), UINT32_C(0x9e6495a3),
	UINT32_C(0x0edb8832), UINT32_C(0x79dcb8a4), UINT32_C(0xe0d5e91e), UINT32_C(0x97d2d988),
	UINT32_C(0x09b64c2b), UINT32_C(0x7eb17cbd), UINT32_C(0xe7b82d07), UINT32_C(0x90bf1d91),
};
static const uint32_t upper[16] = {
	UINT32_C(0x00000000), UINT32_C(0x1db71064), UINT32_C(0x3b6e20c8), UINT32_C(0x26d930ac),
	UINT32_C(0x76dc4190), UINT32_C(0x6b6b51f4), UINT32_C(0x4db26158), UINT32_C(0x5005713c),
	UINT32_C(0xedb88320), UINT32_C(0xf00f9344), UINT32_C(0xd6d6a3e8), UINT32_C(0xcb61b38c),
	UINT32_C(0x9b64c2b0), UINT32_C(0x86d3d2d4), UINT32_C(0xa00ae278), UINT32_C(0xbdbdf21c),
};

uint32_t td_crc32(const void *bytes, size_t count)
{
	const unsigned char *at = bytes;
	uint32_t sum = UINT32_MAX;

	while (count-- > 0) {
		sum ^= *at++;
		sum = sum >> 8 ^ lower[sum & 15] ^ upper[sum >> 4 & 15];
	}
	return ~sum;
}
