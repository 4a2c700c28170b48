using Hindbeat.Charting;
using Markdig;
using Markdig.Extensions.Tables;
using Markdig.Syntax;
using Markdig.Syntax.Inlines;

namespace Hindbeat.Handouts;

/// <summary>The teacher's own words, in Markdown (CommonMark 0.31 and tables; HTML in it is text), for the screen and for paper.</summary>
internal static class LessonWords
{
    private const double Em = PrintedColumn.Em;

    private static readonly MarkdownPipeline Pipeline = new MarkdownPipelineBuilder().DisableHtml().UsePipeTables().Build();

    /// <summary>The page has its heading; the teacher's own start a level lower.</summary>
    public static string InHtml(string words)
    {
        MarkdownDocument document = Markdown.Parse(words, Pipeline);
        foreach (HeadingBlock heading in document.Descendants<HeadingBlock>())
            heading.Level = Math.Min(heading.Level + 1, 6);
        return document.ToHtml(Pipeline);
    }

    public static void Print(string words, PrintedColumn column) => Print(Markdown.Parse(words, Pipeline), column, 0);

    /// <param name="indent">Millimetres.</param>
    /// <param name="after">Under each paragraph, millimetres; less in a list whose items Markdown calls tight.</param>
    private static void Print(ContainerBlock blocks, PrintedColumn column, double indent, double after = 2)
    {
        foreach (Block block in blocks)
        {
            switch (block)
            {
                case HeadingBlock heading:
                    column.Heading(string.Concat(Runs(heading.Inline).Select(run => run.Text)), heading.Level <= 1 ? 1 : 0.85);
                    break;
                case ParagraphBlock paragraph:
                    column.Paragraph(Runs(paragraph.Inline), Em, InkRole.Text, after, indent);
                    break;
                case ListBlock list:
                    Print(list, column, indent);
                    break;
                case QuoteBlock quote:
                    Print(quote, column, indent + 6);
                    break;
                case Table table:
                    column.Table([.. table.OfType<TableRow>().Select(Cells)], hasHead: table.OfType<TableRow>().FirstOrDefault() is { IsHeader: true });
                    break;
                case CodeBlock code:
                    foreach (string line in code.Lines.ToString().Split('\n'))
                        column.Paragraph([new PrintedRun(line, TextCut.Regular)], Em, InkRole.Text, after: 0, indent + 6);
                    break;
                case ContainerBlock other:
                    Print(other, column, indent);
                    break;
            }
        }
    }

    private static void Print(ListBlock list, PrintedColumn column, double indent)
    {
        int number = int.TryParse(list.OrderedStart, out int start) ? start : 1;
        foreach (ListItemBlock item in list.OfType<ListItemBlock>())
        {
            column.Mark(list.IsOrdered ? FormattableString.Invariant($"{number++}.") : "•", indent + 1);
            Print(item, column, indent + 7, list.IsLoose ? 2 : 0.4);
        }

        column.Space(list.IsLoose ? 0 : 1.6);
    }

    private static string[] Cells(TableRow row) =>
        [.. row.OfType<TableCell>().Select(cell => string.Join(" ", cell.OfType<ParagraphBlock>().SelectMany(paragraph => Runs(paragraph.Inline)).Select(run => run.Text)))];

    private static List<PrintedRun> Runs(ContainerInline? inlines)
    {
        var runs = new List<PrintedRun>();
        Add(inlines, TextCut.Regular);
        return runs;

        void Add(ContainerInline? parent, TextCut cut)
        {
            foreach (Inline inline in parent ?? Enumerable.Empty<Inline>())
            {
                switch (inline)
                {
                    case LiteralInline literal:
                        runs.Add(new PrintedRun(literal.Content.ToString(), cut));
                        break;
                    case CodeInline code:
                        runs.Add(new PrintedRun(code.Content, cut));
                        break;
                    case HtmlEntityInline entity:
                        runs.Add(new PrintedRun(entity.Transcoded.ToString(), cut));
                        break;
                    case AutolinkInline link:
                        runs.Add(new PrintedRun(link.Url, cut));
                        break;
                    case LineBreakInline { IsHard: true }:
                        runs.Add(new PrintedRun("\n", cut));
                        break;
                    case LineBreakInline:
                        runs.Add(new PrintedRun(" ", cut));
                        break;
                    case EmphasisInline emphasis:
                        Add(emphasis, emphasis.DelimiterCount >= 2 ? TextCut.SemiBold : TextCut.Italic);
                        break;
                    case LinkInline link:
                        // Paper cannot be clicked on.
                        Add(link, cut);
                        if (!link.IsImage && link.Url is { Length: > 0 } url)
                            runs.Add(new PrintedRun($" ({url})", cut));
                        break;
                    case ContainerInline container:
                        Add(container, cut);
                        break;
                }
            }
        }
    }
}
