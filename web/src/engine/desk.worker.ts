// The thread of the engine that reads whole lists, for an office's screens.
import url from './built/desk.wasm?url';
import { serve } from './serve';

serve(url);
