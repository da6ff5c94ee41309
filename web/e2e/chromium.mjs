// Prints where a Chromium is: CHROMIUM, the distribution's, or one that is installed
// as a person installs it. Ends with 1 if there is none.
import { accessSync, constants } from 'node:fs';
import { pathToFileURL } from 'node:url';

const places = [
  process.env.CHROMIUM,
  '/usr/bin/chromium',
  '/usr/bin/chromium-browser',
  '/usr/bin/google-chrome',
  '/snap/bin/chromium',
  '/Applications/Chromium.app/Contents/MacOS/Chromium',
  '/Applications/Google Chrome.app/Contents/MacOS/Google Chrome',
];

export const chromiumPath = places.find((place) => {
  try {
    accessSync(place, constants.X_OK);
    return true;
  } catch {
    return false;
  }
});

if (import.meta.url === pathToFileURL(process.argv[1]).href) {
  if (!chromiumPath) process.exit(1);
  console.log(chromiumPath);
}
