/* SPDX-License-Identifier: MIT */
/* CRC-32 as IEEE 802.3 and gzip have it (reflected, polynomial 0x04C11DB7): finds damage, no enemy. */
#ifndef TD_CORE_CRC_H
#define TD_CORE_CRC_H

#include <stddef.h>
#include <stdint.h>

uint32_t td_crc32(const void *bytes, size_t count);

#endif
