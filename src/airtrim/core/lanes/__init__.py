"""Lane forms of kernels, written from their readable source: many scenarios side by side in the processor's lanes."""
