import type { ReactiveController, ReactiveControllerHost } from "lit";
import {
  applyPalette,
  applyTheme,
  changePalette,
  changeTheme,
  initialPalette,
  initialTheme,
  type Palette,
  type Theme,
  themeIsChosen,
} from "./theme";

const LIGHT = "(prefers-color-scheme: light)";

/** The theme and palette in effect. Until somebody chooses a theme here, it follows the machine's, while open too. */
export class Looks implements ReactiveController {
  theme: Theme = initialTheme();
  palette: Palette = initialPalette();
  private readonly system = matchMedia(LIGHT);
  private readonly onSystem = () => this.followSystem();

  constructor(
    private readonly host: ReactiveControllerHost,
    /** Called after the colours changed, for what is drawn by hand. */
    private readonly recolour: () => void,
  ) {
    host.addController(this);
  }

  hostConnected(): void {
    applyTheme(this.theme);
    applyPalette(this.palette);
    this.system.addEventListener("change", this.onSystem);
  }

  hostDisconnected(): void {
    this.system.removeEventListener("change", this.onSystem);
  }

  changeTheme(): void {
    this.theme = changeTheme(this.theme);
    this.shown();
  }

  changePalette(): void {
    this.palette = changePalette(this.palette);
    this.shown();
  }

  private followSystem(): void {
    if (themeIsChosen()) return;
    this.theme = initialTheme();
    applyTheme(this.theme);
    this.shown();
  }

  private shown(): void {
    this.recolour();
    this.host.requestUpdate();
  }
}
