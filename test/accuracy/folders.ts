/** Where the measured systems lie. */
import { fileURLToPath } from 'node:url';

/** The project's folder of measured systems. */
export const measuredFolder = fileURLToPath(new URL('../../examples/measured', import.meta.url));
