// The thread of the engine that a phone carries.
import url from './built/engine.wasm?url';
import { serve } from './serve';

serve(url);
