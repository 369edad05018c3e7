package org.tidemark.report;

import java.awt.Font;
import java.awt.font.FontRenderContext;

/** How wide words are in the sans-serif of this machine, at the size of the pictures. */
final class TextWidth {
  private static final FontRenderContext PLAIN = new FontRenderContext(null, true, true);

  private TextWidth() {}

  static double of(String words, boolean bold) {
    Font font = new Font(Font.SANS_SERIF, bold ? Font.BOLD : Font.PLAIN, (int) Svg.FONT);
    return font.getStringBounds(words, PLAIN).getWidth();
  }
}
