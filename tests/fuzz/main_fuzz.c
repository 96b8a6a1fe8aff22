/* One program for each target, with libFuzzer; TARGET is its name. */
#include <stdlib.h>

#include "fuzz.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);
size_t LLVMFuzzerCustomMutator(uint8_t *data, size_t size, size_t max_size, unsigned int seed);
size_t LLVMFuzzerMutate(uint8_t *data, size_t size, size_t max_size);

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
	static const struct fuzz_target *target;

	if (!target)
		target = fuzz_target_find(TARGET);
	target->run((const char *)data, size);
	return 0;
}

/* Two of three times the document stays one and changes in one place, else bytes change anywhere. */
size_t LLVMFuzzerCustomMutator(uint8_t *data, size_t size, size_t max_size, unsigned int seed)
{
	size_t changed = seed % 3 ? mutate_json(data, size, max_size, seed / 3) : 0;

	return changed ? changed : LLVMFuzzerMutate(data, size, max_size);
}
