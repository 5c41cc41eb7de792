// The settings: renewed when something happened, with the fields of the chosen kind of channel.

import "./renew.js";
import { fitKinds } from "./kinds.js";

fitKinds();
