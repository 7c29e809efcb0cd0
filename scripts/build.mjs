// `npm run build` and `prepare`: compile only; nothing is installed here.
import { build } from './setup.mjs';

build();
