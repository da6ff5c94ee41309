// Takes away what an earlier build left in dist, but not .gitkeep, which lets the
// Go program be built where the app was not.
import { readdirSync, rmSync } from 'node:fs';

for (const name of readdirSync('dist')) {
  if (name !== '.gitkeep') rmSync(`dist/${name}`, { recursive: true });
}
