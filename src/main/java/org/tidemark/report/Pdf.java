package org.tidemark.report;

import com.openhtmltopdf.outputdevice.helper.BaseRendererBuilder.FontStyle;
import com.openhtmltopdf.pdfboxout.PdfBoxRenderer;
import com.openhtmltopdf.pdfboxout.PdfRendererBuilder;
import com.openhtmltopdf.svgsupport.BatikSVGDrawer;
import com.openhtmltopdf.util.XRLog;
import java.awt.FontFormatException;
import java.io.ByteArrayOutputStream;
import java.io.File;
import java.io.IOException;
import java.io.InputStream;
import java.io.UncheckedIOException;
import java.nio.file.Files;
import java.nio.file.StandardCopyOption;
import java.util.Map;
import java.util.logging.Level;

/**
 * A page as a PDF: tagged for who reads it by ear (PDF/UA), with its fonts inside. The fonts are
 * Liberation Sans, under the SIL Open Font License 1.1. What floats beside the text would have no
 * tags, so a page must not use it.
 *
 * @param bytes the file
 * @param pages how many pages it has
 */
public record Pdf(byte[] bytes, int pages) {
  /** The one family of letters there is. */
  static final String FONT = "Liberation Sans";

  private static final int NORMAL = 400;
  private static final int BOLD = 700;

  /** The fonts as files, as the drawing of pictures asks for. */
  private static final Map<Integer, File> FONTS =
      Map.of(NORMAL, file("Regular"), BOLD, file("Bold"));

  static {
    // Each step of the making is told otherwise, on the console.
    XRLog.listRegisteredLoggers().forEach(logger -> XRLog.setLevel(logger, Level.WARNING));
  }

  /**
   * The PDF of a page.
   *
   * @param page well-formed HTML that says its language, its title and the size of the paper, and
   *     needs nothing from elsewhere
   */
  public static Pdf of(String page) {
    PdfRendererBuilder builder = new PdfRendererBuilder();
    builder.usePdfUaAccessibility(true);
    builder.useUriResolver((base, uri) -> null);
    builder.withProducer("Tidemark");
    builder.withHtmlContent(page, null);
    ByteArrayOutputStream written = new ByteArrayOutputStream();
    try (BatikSVGDrawer pictures = new BatikSVGDrawer()) {
      for (Map.Entry<Integer, File> font : FONTS.entrySet()) {
        builder.useFont(font.getValue(), FONT, font.getKey(), FontStyle.NORMAL, true);
      }
      builder.useSVGDrawer(pictures);
      builder.toStream(written);
      try (PdfBoxRenderer renderer = builder.buildPdfRenderer()) {
        for (Map.Entry<Integer, File> font : FONTS.entrySet()) {
          pictures.addFontFile(font.getValue(), FONT, font.getKey(), FontStyle.NORMAL);
        }
        renderer.layout();
        int pages = renderer.getRootBox().getLayer().getPages().size();
        renderer.createPDF();
        return new Pdf(written.toByteArray(), pages);
      }
    } catch (FontFormatException e) {
      throw new IllegalStateException("Liberation Sans cannot be read", e);
    } catch (IOException e) {
      throw new UncheckedIOException(e);
    }
  }

  private static File file(String weight) {
    String name = "LiberationSans-" + weight + ".ttf";
    try (InputStream font = Pdf.class.getResourceAsStream("/liberation/" + name)) {
      File file = File.createTempFile("tidemark-", "-" + name);
      file.deleteOnExit();
      Files.copy(font, file.toPath(), StandardCopyOption.REPLACE_EXISTING);
      return file;
    } catch (IOException e) {
      throw new UncheckedIOException(e);
    }
  }
}
