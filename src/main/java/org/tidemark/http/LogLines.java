package org.tidemark.http;

import io.quarkus.logging.LoggingFilter;
import java.util.logging.Filter;
import java.util.logging.LogRecord;
import java.util.regex.Pattern;
import org.jboss.logmanager.ExtLogRecord;
import org.jboss.logmanager.ExtLogRecord.FormatStyle;
import org.jboss.logmanager.formatters.PatternFormatter;

/**
 * Keeps what others have sent from forging lines of the log, or from steering the terminal that
 * shows it: a further line of a message is indented, and control characters are written as their
 * number.
 */
@LoggingFilter(name = "log-lines")
public final class LogLines implements Filter {
  private static final Pattern CONTROL =
      Pattern.compile("[\\p{Cntrl}\\u0080-\\u009f\\u2028\\u2029&&[^\\n\\t]]");
  private static final PatternFormatter WHOLE = new PatternFormatter("%s%e");
  private static final String FURTHER = "\n    ";

  @Override
  public boolean isLoggable(LogRecord record) {
    String text = WHOLE.format(record).strip();
    record.setThrown(null);
    record.setParameters(null);
    if (record instanceof ExtLogRecord own) {
      own.setMessage(plain(text), FormatStyle.NO_FORMAT);
    } else {
      record.setMessage(plain(text));
    }
    return true;
  }

  /** A text that takes up its own lines only. */
  static String plain(String text) {
    return CONTROL
        .matcher(text.replace("\r\n", "\n"))
        .replaceAll(found -> "\\\\u%04x".formatted((int) found.group().charAt(0)))
        .replace("\n", FURTHER);
  }
}
