// Putting something right: only the fields of the chosen kind are shown and sent.

import { fitKinds } from "./kinds.js";

fitKinds();
