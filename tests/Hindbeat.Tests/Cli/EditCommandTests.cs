using Hindbeat.Cli;
using Hindbeat.Performances;
using Hindbeat.Rebuilding;
using Hindbeat.Studies;
using Hindbeat.Tests.Studies;

namespace Hindbeat.Tests.Cli;

/// <summary>Editing a kept study from the command line.</summary>
public sealed class EditCommandTests : IDisposable
{
    private readonly string _folder = Directory.CreateTempSubdirectory("hindbeat-edit-").FullName;

    public EditCommandTests() => StudyLibrary.Open(_folder).Save(SampleStudies.Of(id: "one") with { Performance = InventedPassage.Make(20).Performance, Doubts = [] });

    public void Dispose() => Directory.Delete(_folder, recursive: true);

    private Study Kept => StudyLibrary.Open(_folder).Load("one")!;

    [Fact]
    public async Task A_bar_printed_changed_and_read_back_is_in_the_study_until_it_is_taken_back()
    {
        int before = Kept.Performance.Hits.Count;
        (int code, string bar, string messages) = await Run("edit", "one", "--show-bars", "3");
        Assert.True(code == 0, messages);
        Assert.StartsWith("bar 3 in 4/4\nkick: ", bar, StringComparison.Ordinal);

        string file = Path.Combine(_folder, "bars.txt");
        File.WriteAllText(file, bar.TrimEnd() + "\nsplash: 1 @100\n");
        (code, _, messages) = await Run("edit", "one", "--bars", file, "add crash 4.1 @110", "mark crash 4.1 accent");
        Assert.True(code == 0, messages);
        Assert.Contains("Kept: 3 edits", messages, StringComparison.Ordinal);
        Assert.Equal(before + 2, Kept.Performance.Hits.Count);
        Assert.Equal(HitMarks.Accent, Kept.Performance.Hits.Single(hit => hit.Piece == KitPiece.Crash).Marks);
        Assert.Equal(2, StudyEditor.Undo(Kept).Edits.Count);

        (code, string list, _) = await Run("edit", "one", "--undo", "3", "--list");
        Assert.Equal(0, code);
        Assert.Equal(3, list.Split('\n').Count(line => line.StartsWith("# taken back: ", StringComparison.Ordinal)));
        Assert.Equal(before, Kept.Performance.Hits.Count);
    }

    [Theory]
    [InlineData("delete china 1.1", "no China stroke")]
    [InlineData("sing louder", "is not an edit")]
    public async Task An_edit_that_cannot_be_done_changes_nothing(string edit, string reason)
    {
        (int code, string output, string messages) = await Run("edit", "one", "add splash 2.1", edit);
        Assert.Equal(1, code);
        Assert.Empty(output);
        Assert.Contains(reason, messages, StringComparison.OrdinalIgnoreCase);
        Assert.Empty(Kept.Edits);
    }

    private async Task<(int Code, string Output, string Messages)> Run(params string[] args)
    {
        using var output = new StringWriter();
        using var messages = new StringWriter();
        int code = await CommandLine.RunAsync([.. args, "--library", _folder], output, messages);
        return (code, output.ToString(), messages.ToString());
    }
}
