using System.CommandLine;
using System.Text;
using Hindbeat.Charting;
using Hindbeat.Handouts;
using Hindbeat.Studies;
using Hindbeat.Units;

namespace Hindbeat.Cli.Commands;

/// <summary><c>hindbeat handout STUDY --out FILE</c>: the lesson as a page (.html), a sheet (.pdf) or all of it (.zip).</summary>
internal static class HandoutCommand
{
    /// <summary>Words, in the order of the page, for <c>--only</c>.</summary>
    private static readonly (string Word, LessonSections Section)[] SectionWords =
    [
        ("words", LessonSections.Words),
        ("chart", LessonSections.Chart),
        ("played-over-written", LessonSections.PlayedOverWritten),
        ("listening", LessonSections.Listening),
        ("figures", LessonSections.Figures),
        ("folded-bar", LessonSections.FoldedBar),
        ("ladder", LessonSections.Ladder),
    ];

    public static Command Make(CommandContext context)
    {
        Argument<string> wanted = SharedOptions.StudyArgument();
        var to = new Option<string>("--out") { Description = "File to write: .html (one page, opens anywhere), .pdf (paper) or .zip (all of it, with sound files and figures).", HelpName = "FILE", Required = true };
        var title = new Option<string?>("--title") { Description = "Title of the lesson (default: the study's name)." };
        var teacher = new Option<string?>("--teacher") { Description = "Who teaches." };
        var words = new Option<string?>("--words") { Description = "A text file (Markdown) with your own words.", HelpName = "FILE" };
        var credits = new Option<string?>("--credits") { Description = "Whose playing it is, and where from." };
        var only = new Option<string[]>("--only") { Description = $"Only these sections: {string.Join(", ", SectionWords.Select(pair => pair.Word))}.", AllowMultipleArgumentsPerToken = true };
        only.AcceptOnlyFromAmong([.. SectionWords.Select(pair => pair.Word)]);
        var kit = new Option<string>("--kit") { Description = "What the versions are played on: house, own, a folder or a SoundFont.", HelpName = "KIT", DefaultValueFactory = _ => KitChoice.House };
        var recording = new Option<string?>("--recording") { Description = "Where the recording lies, for --kit own, when the study does not know.", HelpName = "FILE" };
        var passOn = new Option<bool>("--i-may-pass-the-recording-on") { Description = "Put the recording itself into the .zip. Only with the right to do so; rebuilds carry the lesson without it." };
        var paper = new Option<string>("--paper") { Description = "Paper size: a4 or letter.", DefaultValueFactory = _ => "a4" };
        paper.AcceptOnlyFromAmong("a4", "letter");
        Option<string?> library = SharedOptions.Library();
        var command = new Command("handout", "Make a lesson of a study: chart, words, figures and the versions to listen to.")
        {
            wanted, to, title, teacher, words, credits, only, kit, recording, passOn, paper, library,
        };
        command.SetAction((parsed, cancel) =>
        {
            string path = parsed.GetValue(to)!;
            string ending = Path.GetExtension(path).ToLowerInvariant();
            if (ending is not (".html" or ".pdf" or ".zip"))
                throw new InputException($"'{path}' does not say what to write; end it in .html, .pdf or .zip.");
            FoundStudy study = StudyShelf.FindWhole(parsed.GetValue(wanted)!, SharedOptions.LibraryFolder(parsed, library));
            string[] chosen = parsed.GetValue(only) ?? [];
            var lesson = new Lesson(parsed.GetValue(title) ?? study.Name, study.Performance, study.Feel, KitChoice.Find(parsed.GetValue(kit)!, study, parsed.GetValue(recording), context.Messages))
            {
                Teacher = parsed.GetValue(teacher) ?? "",
                Credits = parsed.GetValue(credits) ?? "",
                Words = parsed.GetValue(words) is { } file ? ReadWords(file) : "",
                Sections = chosen.Length == 0 ? LessonSections.All : SectionWords.Where(pair => chosen.Contains(pair.Word)).Aggregate(LessonSections.None, (all, pair) => all | pair.Section),
            };
            PageFormat format = (parsed.GetValue(paper) == "letter" ? PageFormat.Letter : PageFormat.A4) with { Ink = PageInk.Print };
            switch (ending)
            {
                case ".html":
                    OutputFile.WriteText(path, writer => LessonPage.Write(lesson, writer));
                    Warn(context, path);
                    break;
                case ".pdf":
                    OutputFile.Write(path, stream => HandoutPdf.Write(lesson, format, stream));
                    break;
                default:
                    string? source = parsed.GetValue(passOn) ? RecordingOf(study, parsed.GetValue(recording)) : null;
                    OutputFile.Write(path, stream => HandoutPack.Write(lesson, format, FiguresJson(study), source, stream, cancel));
                    break;
            }

            context.Messages.WriteLine($"Wrote {path}");
            return Task.FromResult(CommandLine.Done);
        });
        return command;
    }

    private static string RecordingOf(FoundStudy study, string? recording)
    {
        string path = recording ?? study.Source ?? throw new InputException($"The study '{study.Name}' does not say where its recording lies; name it with --recording FILE.");
        return File.Exists(path) ? path : throw new InputException($"The recording {path} is not there any more; name it with --recording FILE.");
    }

    private static string FiguresJson(FoundStudy study)
    {
        if (study.Kept is null)
            throw new InputException("A .zip is made from a study of the library; this is a document on disk. Make the .html or .pdf of it.");
        using var buffer = new MemoryStream();
        StudyDocuments.From(study.Kept).Write(buffer);
        return Encoding.UTF8.GetString(buffer.ToArray());
    }

    private static string ReadWords(string file)
    {
        const int MostBytes = 200_000;
        var info = new FileInfo(file);
        if (!info.Exists)
            throw new InputException($"There is no file {file} with the lesson's words.");
        if (info.Length > MostBytes)
            throw new InputException($"{file} holds {info.Length / 1000} kB; the words of a lesson are at most {MostBytes / 1000} kB of text. Is it the right file?");
        return File.ReadAllText(file);
    }

    private static void Warn(CommandContext context, string path)
    {
        long bytes = new FileInfo(path).Length;
        if (bytes > LessonPage.MostBytes)
            context.Messages.WriteLine(FormattableString.Invariant($"The page holds {bytes / 1e6:0.0} MB, more than many mail boxes take; choose fewer bars or sections."));
    }
}
