// `npm start`: install, build, and do the main job on the demo case. Nothing needs doing before.
import { build, install, run } from './setup.mjs';

install();
build();
process.exit(
  run(process.execPath, ['dist/cli/main.js', 'check', 'examples/survey/recorder.yaml', '--report']),
);
